"""Sets in the written form: what `programs.prescription.notation.slot_reading` reads back equal."""

from dataclasses import replace
from decimal import Decimal
from typing import Final

from programs.prescription.constants import S_PER_MIN
from programs.prescription.notation.labels import is_simple_label
from programs.prescription.notation.quoting import quoted
from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    Load,
    PercentLoad,
    RelativeToTopLoad,
)
from programs.prescription.structure import Entry, Segment, SetGroup
from programs.prescription.vocabulary import Reference, SetKind

_KIND_WORDS: Final[dict[SetKind, str]] = {
    "warm_up": "warm-up",
    "ramp": "ramp",
    "work": "work",
    "top": "top",
    "back_off": "back-off",
    "drop": "drop",
    "cluster": "cluster",
    "rest_pause": "rest-pause",
    "to_limit": "to-limit",
    "test": "test",
    "technique": "technique",
}
_REFERENCE_WORDS: Final[dict[Reference, str]] = {
    "training_max": "TM",
    "tested": "of tested",
    "estimated": "e1RM",
    "working": "of working",
}
_SECONDS_ALONE_MAX: Final = 90
LADDER_MIN: Final = 3
"""The fewest numbers joined by hyphens that are no range. Practice."""
_BARE: Final = "set"


def printed_sets(groups: tuple[SetGroup, ...], *, per_side: bool, in_rounds: bool) -> str:
    """Write an exercise's sets, separated by commas; the sides stand with the first amount.

    Args:
        groups: the sets.
        per_side: whether each is done on both sides.
        in_rounds: whether the block repeats them, so that one set needs no count.
    """
    if in_rounds and _is_ladder(groups):
        side = "/side" if per_side else ""
        details = ", ".join(_details(groups[0]))
        return f"{printed_rounds(groups)}{side} @ {details}" if details else f"{printed_rounds(groups)}{side}"
    said = [
        _group(
            group,
            side="/side" if per_side and place == 0 and _has_amount(group) else "",
            in_rounds=in_rounds and len(groups) == 1,
        )
        for place, group in enumerate(groups)
    ]
    if per_side and not (groups and _has_amount(groups[0])):
        said.append("per side")
    return ", ".join(said)


def printed_amount(group: SetGroup) -> str:
    """Write how much one set asks for; empty where a block's clock says it."""
    if group.segments:
        return _segments(group.segments)
    limit = "+" if group.to_limit else ""
    if group.reps_low is not None:
        high = "" if group.reps_high is None else f"-{group.reps_high}"
        return f"{group.reps_low}{high}{limit}"
    if group.duration_s is not None:
        return f"{printed_seconds(group.duration_s)}{limit}"
    if group.distance_m is not None:
        return f"{plain_number(group.distance_m)} m{limit}"
    if group.calories_kcal is not None:
        return f"{group.calories_kcal} cal{limit}"
    return "AMRAP" if group.to_limit else ""


def printed_entry_amount(entry: Entry) -> str:
    """Write how much an entry piece asks for."""
    return printed_amount(
        SetGroup(duration_s=entry.duration_s, distance_m=entry.distance_m, calories_kcal=entry.calories_kcal)
    )


def printed_seconds(seconds: int) -> str:
    """Write a time: 45s, 90s, 2:00."""
    if seconds <= _SECONDS_ALONE_MAX:
        return f"{seconds}s"
    return f"{seconds // S_PER_MIN}:{seconds % S_PER_MIN:02}"


def plain_number(value: Decimal) -> str:
    """Write a decimal without an exponent and without idle zeros."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def printed_rounds(groups: tuple[SetGroup, ...]) -> str:
    """Write how much each round asks for: ``21-15-9``, or one amount where the rounds are alike."""
    return printed_amount(groups[0]) if len(groups) == 1 else "-".join(str(group.reps_low) for group in groups)


def is_short(groups: tuple[SetGroup, ...]) -> bool:
    """Say whether `printed_rounds` says all that the sets of a block's rounds do."""
    if len(groups) == 1:
        return groups[0].count == 1 and is_plain(groups[0])
    return _is_ladder(groups) and is_plain(groups[0])


def is_plain(group: SetGroup) -> bool:
    """Say whether one set says nothing but how much of one measure it asks for."""
    return bool(_has_amount(group)) and group == SetGroup(
        reps_low=group.reps_low,
        reps_high=group.reps_high,
        duration_s=group.duration_s,
        distance_m=group.distance_m,
        calories_kcal=group.calories_kcal,
        to_limit=group.to_limit,
    )


def _is_ladder(groups: tuple[SetGroup, ...]) -> bool:
    """Say whether sets differ in nothing but their single number of repetitions."""
    if len(groups) < LADDER_MIN:
        return False
    alike = {replace(group, reps_low=1) for group in groups}
    (first,) = alike if len(alike) == 1 else (None,)
    return first is not None and first == SetGroup(
        reps_low=1, tempo=first.tempo, rpe=first.rpe, in_reserve=first.in_reserve, load=first.load
    )


def _has_amount(group: SetGroup) -> bool:
    return bool(printed_amount(group))


def _group(group: SetGroup, *, side: str, in_rounds: bool) -> str:
    amount = printed_amount(group)
    kind = "" if group.kind == _implied_kind(group) else f"{_KIND_WORDS[group.kind]} "
    many = "" if group.count == 1 else "s"
    counted = "" if in_rounds and group.count == 1 and not kind else f"{group.count} x "
    sets = f"{counted}{amount}{side}" if amount else f"{group.count} {_BARE}{many}"
    details = ", ".join(_details(group))
    return f"{kind}{sets} @ {details}" if details else f"{kind}{sets}"


def _implied_kind(group: SetGroup) -> SetKind:
    if not group.segments:
        return "work"
    return "drop" if any(segment.load_change_pct is not None for segment in group.segments) else "cluster"


def _details(group: SetGroup) -> list[str]:
    said: list[str] = []
    if group.tempo is not None:
        said.append(str(group.tempo))
    if group.load is not None:
        said.append(_load(group.load))
    if group.rpe is not None:
        said.append(f"RPE {plain_number(group.rpe)}")
    if group.in_reserve is not None:
        said.append(f"{plain_number(group.in_reserve)} RIR")
    return said


def _segments(segments: tuple[Segment, ...]) -> str:
    simple = all(segment.load_change_pct is None and not segment.to_limit for segment in segments)
    rests = {segment.rest_before_s for segment in segments[1:]}
    if simple and len(rests) == 1:
        said = "+".join(str(segment.reps) for segment in segments)
        rest_s = rests.pop()
        return f"{said}, {printed_seconds(rest_s)} inside" if rest_s else said
    return " + ".join(piece for segment in segments for piece in _segment(segment))


def _segment(segment: Segment) -> list[str]:
    rest = [printed_seconds(segment.rest_before_s)] if segment.rest_before_s else []
    reps = "AMRAP" if segment.reps is None else f"{segment.reps}{'+' if segment.to_limit else ''}"
    change = "" if segment.load_change_pct is None else f" {_signed(segment.load_change_pct)}%"
    return [*rest, f"{reps}{change}"]


def _load(load: Load) -> str:
    match load:
        case AbsoluteLoad():
            return f"{plain_number(load.value)} {load.unit}"
        case BodyweightLoad():
            return "bodyweight"
        case PercentLoad():
            return f"{plain_number(load.pct)}% {_REFERENCE_WORDS[load.of]}"
        case RelativeToTopLoad():
            return f"{_signed(load.pct)}% of top"
        case BandLoad():
            return f"band {quoted(load.text)}"
        case _:
            key = load.slot_key if is_simple_label(load.slot_key) else f"[{load.slot_key}]"
            return f"same as {key}"


def _signed(value: Decimal) -> str:
    text = plain_number(value)
    return text if text.startswith("-") else f"+{text}"
