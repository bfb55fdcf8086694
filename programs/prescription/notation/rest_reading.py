"""Rests: after a set, and between the stretches of one."""

from programs.prescription.constants import REST_MAX_S
from programs.prescription.notation import figures
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree
from programs.prescription.notation.remarks import Remarks
from programs.prescription.structure import Segment


def read_rest(tree: LineTree, remarks: Remarks) -> int | None:
    """Read the rest after a set; None where its figure is out of range, which is then said."""
    word = next((child for child in tree.children if isinstance(child, Word) and child.type != "REST"), None)
    return 0 if word is None or word.type == "NO_REST" else rest_seconds(word, remarks)


def rest_seconds(word: Word, remarks: Remarks) -> int | None:
    """Read a rest's figure; None where it is out of range, which is then said."""
    if word.type == "NUMBER":
        return figures.whole(word, remarks, least=0, most=REST_MAX_S, what="seconds of rest")
    return figures.seconds(word, remarks, most=REST_MAX_S, longest=True)


def rested_segments(segments: tuple[Segment, ...], rest_s: int) -> tuple[Segment, ...]:
    """Put a rest before each stretch of a set but the first, where none is said."""
    return tuple(_rested(segment, rest_s) if place else segment for place, segment in enumerate(segments))


def _rested(segment: Segment, rest_s: int) -> Segment:
    if segment.rest_before_s:
        return segment
    return Segment(
        reps=segment.reps, to_limit=segment.to_limit, rest_before_s=rest_s, load_change_pct=segment.load_change_pct
    )
