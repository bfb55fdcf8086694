"""What a block's header says: its kind and how it is timed."""

from typing import Final

from programs.prescription.constants import (
    DURATION_MAX_S,
    EVERY_MAX_S,
    EVERY_MIN_S,
    REPS_MAX,
    REST_MAX_S,
    ROUNDS_MAX,
    S_PER_MIN,
)
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
    words = _without_interval(timing, words, remarks)
    if words and words[0].type == "LADDER":
        _ladder(timing, words[0], remarks)
        return timing
    counted = _are_rounds(timing, words)
    for word in words:
        if word.type == "TIME" or (word.type == "NUMBER" and not counted):
            timing.minutes = figures.minutes(word, remarks)
        elif word.type == "NUMBER":
            timing.rounds = read_rounds(word, remarks)
    if kind == "rounds_for_time" and not counted:
        timing.rounds = 1
        timing.counted = False
    return timing


def as_for_time(timing: Timing) -> None:
    """Take ``3 rounds`` as rounds for time, once that is said after it."""
    if timing.kind == "circuit" and timing.rounds is not None:
        timing.kind = "rounds_for_time"


def read_rounds(word: Word, remarks: Remarks) -> int | None:
    """Read a number of rounds."""
    return figures.whole(word, remarks, least=1, most=ROUNDS_MAX, what="rounds")


def read_cap(tree: LineTree, remarks: Remarks) -> int | None:
    """Read a cap in whole minutes."""
    word = tree.children[-1]
    return figures.minutes(word, remarks) if isinstance(word, Word) else None


def read_round_rest(tree: LineTree, remarks: Remarks) -> int | None:
    """Read the rest between rounds, in seconds."""
    words = [child for child in tree.children if isinstance(child, Word)]
    word = next((word for word in words if word.type in ("TIME", "NUMBER")), None)
    if word is None:
        return 0
    if word.type == "NUMBER":
        return figures.whole(word, remarks, least=0, most=REST_MAX_S, what="seconds of rest")
    return figures.seconds(word, remarks, most=REST_MAX_S, longest=True)


def _are_rounds(timing: Timing, words: list[Word]) -> bool:
    """Say whether the number of a header is one of rounds, not of minutes."""
    said = {word.type for word in words}
    if timing.kind == "circuit" or "ROUNDS" in said or said == {"NUMBER", "RFT"}:
        return True
    return timing.every_s is not None and "X" in said


def _without_interval(timing: Timing, words: list[Word], remarks: Remarks) -> list[Word]:
    """Read the interval of ``every 2 min`` or ``E2MOM``, and give the words that say for how long."""
    for place, word in enumerate(words):
        if word.type == "E_MOM":
            number, unit = word.text[1:].partition("om")[0][:-1], word.text[1:].partition("om")[0][-1]
            seconds: int | None = int(number) * (S_PER_MIN if unit == "m" else 1)
            left = [*words[:place], *words[place + 1 :]]
        elif word.type == "EVERY":
            seconds = figures.seconds(words[place + 1], remarks)
            left = [*words[:place], *words[place + 2 :]]
        else:
            continue
        if seconds is not None and not EVERY_MIN_S <= seconds <= EVERY_MAX_S:
            remarks.error(word, "out_of_range", f"Every {seconds} s; expected {EVERY_MIN_S} s to {EVERY_MAX_S} s.")
            seconds = None
        timing.every_s = seconds
        return left
    return words


def _ladder(timing: Timing, word: Word, remarks: Remarks) -> None:
    rungs = [int(part) for part in word.text.split("-")]
    if not all(1 <= reps <= REPS_MAX for reps in rungs):
        remarks.error(word, "out_of_range", f"{word.text}; expected repetitions from 1 to {REPS_MAX}.")
        return
    timing.ladder = tuple(rungs)
    timing.rounds = len(rungs)


def _interval(timing: Timing, words: list[Word], remarks: Remarks) -> None:
    times = [word for word in words if word.type == "TIME"]
    counts = [word for word in words if word.type == "NUMBER"]
    timing.rounds = read_rounds(counts[0], remarks) if counts else 1
    work_s = figures.seconds(times[0], remarks, most=DURATION_MAX_S)
    if work_s == 0:
        remarks.error(times[0], "out_of_range", "0 seconds of work; expected a time over 0.")
    timing.work_s = work_s or None
    timing.off_s = figures.seconds(times[1], remarks, most=REST_MAX_S, longest=True)
