"""How much a set asks for: repetitions, time, distance, calories, to the limit, clusters, drops, descending sets."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from programs.prescription.constants import PERCENT, REPS_MAX, REST_MAX_S, TOP_CHANGE_MAX_PCT, TOP_CHANGE_MIN_PCT
from programs.prescription.notation import figures
from programs.prescription.notation.drafts import Amount
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.line_grammar import LineTree
from programs.prescription.notation.remarks import Remarks
from programs.prescription.structure import Segment

DROP_STEP_PCT: Final = Decimal("0.1")
"""To what the load of a repeated drop is rounded, in percent of the first load. Practice."""

DROPS_MAX: Final = 9
"""The most drops of one set: with the first stretch they make the most segments that a set may have. Practice."""

_RANGE_ENDS: Final = 2


@dataclass(frozen=True, slots=True)
class Reading:
    """An amount as read, whether the sides are written into it (``10/10``), and the kind that its form implies."""

    amount: Amount
    both_sides: bool = False
    drops: bool = False


def read_measure(tree: LineTree, remarks: Remarks) -> Reading | None:
    """Read a measure; None where its figures cannot be performed, which is then said."""
    pieces = [child for child in tree.children if isinstance(child, LineTree) and child.data in ("piece", "drops")]
    first = [child for child in tree.children if not any(child is piece for piece in pieces)]
    amount, both_sides = _quantity(first, remarks)
    if amount is None:
        return None
    if not pieces:
        return Reading(amount, both_sides=both_sides)
    segments = _segments(amount, first[0], pieces, remarks)
    if segments is None:
        return None
    drops = any(segment.load_change_pct is not None for segment in segments)
    return Reading(Amount(segments=segments), drops=drops)


def _quantity(children: list[Word | LineTree], remarks: Remarks) -> tuple[Amount | None, bool]:
    head = children[0]
    to_limit = len(children) > 1
    if isinstance(head, LineTree):
        return _reps(head, remarks, to_limit=to_limit)
    amount = Amount(to_limit=to_limit)
    match head.type:
        case "TIME":
            amount.duration_s = figures.seconds(head, remarks)
            if amount.duration_s == 0:
                remarks.error(head, "out_of_range", "0 seconds; expected a time over 0.")
                return None, False
            return (amount if amount.duration_s is not None else None), False
        case "DISTANCE":
            amount.distance_m = figures.metres(head, remarks)
            return (amount if amount.distance_m is not None else None), False
        case "CALORIES":
            amount.calories_kcal = figures.calories(head, remarks)
            return (amount if amount.calories_kcal is not None else None), False
        case _:
            return Amount(to_limit=True), False


def _reps(tree: LineTree, remarks: Remarks, *, to_limit: bool) -> tuple[Amount | None, bool]:
    words = [child for child in tree.children if isinstance(child, Word)]
    read = [
        figures.whole(word, remarks, least=1, most=REPS_MAX, what=f"repetitions{_tempo_hint(word)}")
        for word in words
        if word.type == "NUMBER"
    ]
    known = [reps for reps in read if reps is not None]
    if len(known) != len(read):
        return None, False
    slashed = any(word.type == "SLASH" for word in words)
    if len(known) == 1:
        return Amount(reps_low=known[0], to_limit=to_limit), False
    if len(known) == _RANGE_ENDS and not slashed:
        return _range(known, words, remarks, to_limit=to_limit), False
    if len(known) == _RANGE_ENDS and known[0] == known[1]:
        return Amount(reps_low=known[0], to_limit=to_limit), True
    return Amount(ladder=tuple(known), to_limit=to_limit), False


def _tempo_hint(word: Word) -> str:
    digits_of_a_tempo = 4
    return " (a tempo is written @ 3010)" if len(word.text) == digits_of_a_tempo else ""


def _range(known: list[int], words: list[Word], remarks: Remarks, *, to_limit: bool) -> Amount | None:
    low, high = known
    if low > high:
        remarks.error(words[0], "reps_order", f"{low}-{high}; expected the lower number first.")
        return None
    return Amount(reps_low=low, reps_high=high, to_limit=to_limit)


def _segments(
    first: Amount, head: Word | LineTree, pieces: list[LineTree], remarks: Remarks
) -> tuple[Segment, ...] | None:
    opening = _segment(first, rest_before_s=0, change=None)
    if opening is None:
        remarks.error(_first_word(head), "segment", "A stretch of a set is in repetitions; expected such as 2+2+2.")
        return None
    segments = [opening]
    rest_s = 0
    for piece in pieces:
        if piece.data == "drops":
            segments += _drops(piece, remarks)
            continue
        rest = _rest_of(piece)
        if rest is not None:
            rest_s = figures.seconds(rest, remarks, most=REST_MAX_S, longest=True) or 0
            continue
        further = _piece(piece, rest_s, remarks)
        if further is None:
            return None
        segments.append(further)
        rest_s = 0
    return tuple(segments)


def _rest_of(piece: LineTree) -> Word | None:
    only = piece.children[0]
    return only if len(piece.children) == 1 and isinstance(only, Word) and only.type == "TIME" else None


def _piece(piece: LineTree, rest_before_s: int, remarks: Remarks) -> Segment | None:
    last = piece.children[-1]
    change_word = last if isinstance(last, Word) and last.type == "CHANGE" else None
    amount, _ = _quantity(piece.children[:-1] if change_word else piece.children, remarks)
    if amount is None:
        return None
    change = None if change_word is None else _change(change_word, remarks)
    segment = _segment(amount, rest_before_s=rest_before_s, change=change)
    if segment is None:
        at = _first_word(piece.children[0])
        remarks.error(at, "segment", "A stretch of a set is one number of repetitions, or AMRAP; expected such as + 2.")
    return segment


def _segment(amount: Amount, *, rest_before_s: int, change: Decimal | None) -> Segment | None:
    plain = amount.reps_low is not None or amount.to_limit
    other = amount.duration_s or amount.distance_m or amount.calories_kcal or amount.ladder or amount.reps_high
    if not plain or other:
        return None
    return Segment(reps=amount.reps_low, to_limit=amount.to_limit, rest_before_s=rest_before_s, load_change_pct=change)


def _drops(tree: LineTree, remarks: Remarks) -> list[Segment]:
    """Read ``+ drop 2 x -20%``: twice a fifth off what was lifted just before, each to the limit."""
    words = [child for child in tree.children if isinstance(child, Word)]
    times = figures.whole(words[1], remarks, least=1, most=DROPS_MAX, what="drops")
    step = figures.percentage(words[-1], remarks)
    if times is None or step is None:
        return []
    segments: list[Segment] = []
    left = Decimal(1)
    for _ in range(times):
        left *= 1 + step / PERCENT
        change = ((left - 1) * PERCENT).quantize(DROP_STEP_PCT).normalize()
        if not TOP_CHANGE_MIN_PCT <= change <= TOP_CHANGE_MAX_PCT:
            remarks.error(
                words[-1], "out_of_range", f"Drops that change the load by {change:f} % in all; expected less."
            )
            return []
        segments.append(Segment(to_limit=True, load_change_pct=change))
    return segments


def _change(word: Word, remarks: Remarks) -> Decimal | None:
    value = figures.percentage(word, remarks)
    if value is None:
        return None
    return figures.within(value, word, remarks, least=TOP_CHANGE_MIN_PCT, most=TOP_CHANGE_MAX_PCT, what="A change")


def _first_word(node: Word | LineTree) -> Word:
    while not isinstance(node, Word):
        node = node.children[0]
    return node
