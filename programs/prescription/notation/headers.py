"""What a block's header says: its kind and how it is timed."""

from typing import Final

from programs.prescription.constants import DURATION_MAX_S, REST_MAX_S, ROUNDS_MAX
from programs.prescription.notation import figures
from programs.prescription.notation.drafts import Timing
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree
from programs.prescription.notation.remarks import Remarks
from programs.prescription.vocabulary import BLOCK_KINDS, BlockKind

HEADERS: Final = frozenset(BLOCK_KINDS)
"""The rules of the grammar that are headers. Practice."""


def read_header(tree: LineTree, remarks: Remarks) -> Timing:
    """Read a header; what its figures cannot mean is said and left out."""
    kind: BlockKind = next(kind for kind in BLOCK_KINDS if kind == tree.data)
    words = [child for child in tree.children if isinstance(child, Word)]
    timing = Timing(kind=kind)
    if kind == "interval":
        _interval(timing, words, remarks)
        return timing
    counted = any(word.type == "ROUNDS" for word in words)
    for word in words:
        if word.type == "TIME" or (word.type == "NUMBER" and not counted):
            timing.minutes = figures.minutes(word, remarks)
        elif word.type == "NUMBER":
            timing.rounds = read_rounds(word, remarks)
    if kind == "rounds_for_time" and not counted:
        timing.rounds = 1
    return timing


def read_rounds(word: Word, remarks: Remarks) -> int | None:
    """Read a number of rounds."""
    return figures.whole(word, remarks, least=1, most=ROUNDS_MAX, what="rounds")


def read_cap(tree: LineTree, remarks: Remarks) -> int | None:
    """Read a cap in whole minutes."""
    word = tree.children[-1]
    return figures.minutes(word, remarks) if isinstance(word, Word) else None


def _interval(timing: Timing, words: list[Word], remarks: Remarks) -> None:
    times = [word for word in words if word.type == "TIME"]
    counts = [word for word in words if word.type == "NUMBER"]
    timing.rounds = read_rounds(counts[0], remarks) if counts else 1
    work_s = figures.seconds(times[0], remarks, most=DURATION_MAX_S)
    if work_s == 0:
        remarks.error(times[0], "out_of_range", "0 seconds of work; expected a time over 0.")
    timing.work_s = work_s or None
    timing.off_s = figures.seconds(times[1], remarks, most=REST_MAX_S, longest=True)
