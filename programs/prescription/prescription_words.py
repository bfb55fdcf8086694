"""A slot's sets in the trade's short words: `4x6-8 at 41X1, 80 kg, RPE 8`."""

from decimal import Decimal
from typing import Final

from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    Load,
    PercentLoad,
    RelativeToTopLoad,
)
from programs.prescription.structure import Segment, SetGroup, Slot
from programs.prescription.vocabulary import Reference

_REFERENCES: Final[dict[Reference, str]] = {
    "training_max": "training maximum",
    "tested": "tested maximum",
    "estimated": "estimated maximum",
    "working": "working load",
}
"""How references are called. Practice."""


def sets_words(slot: Slot) -> str:
    """Say a slot's sets, in the order performed."""
    return "; ".join(group_words(group, per_side=slot.per_side) for group in slot.sets) or "no sets of its own"


def load_words(load: Load) -> str:
    """Say a prescribed load."""
    match load:
        case AbsoluteLoad():
            return f"{_plain(load.value)} {load.unit}"
        case BodyweightLoad():
            return "bodyweight"
        case PercentLoad():
            return f"{_plain(load.pct)} % of the {_REFERENCES[load.of]}"
        case RelativeToTopLoad():
            return f"{_plain(load.pct)} % from the top set"
        case BandLoad():
            return f"band {load.text}"
        case _:
            return f"load as {load.slot_key}"


def group_words(group: SetGroup, *, per_side: bool) -> str:
    """Say one set group."""
    kind = "" if group.kind == "work" else f"{group.kind.replace('_', ' ')} "
    side = "/side" if per_side else ""
    amount = _amount(group)
    counted = f"{group.count}x{amount}" if amount else f"{group.count} set{'s' if group.count > 1 else ''}"
    tempo = "" if group.tempo is None else f" at {group.tempo}"
    after = [
        *([] if group.load is None else [load_words(group.load)]),
        *([] if group.rpe is None else [f"RPE {_plain(group.rpe)}"]),
        *([] if group.in_reserve is None else [f"{_plain(group.in_reserve)} in reserve"]),
    ]
    return ", ".join([f"{kind}{counted}{side}{tempo}", *after])


def _amount(group: SetGroup) -> str:
    if group.segments:
        return "+".join(_segment(segment) for segment in group.segments)
    if group.reps_low is not None:
        high = "" if group.reps_high in (None, group.reps_low) else f"-{group.reps_high}"
        return f"{group.reps_low}{high}{'+' if group.to_limit else ''}"
    if group.duration_s is not None:
        return f"{group.duration_s} s"
    if group.distance_m is not None:
        return f"{_plain(group.distance_m)} m"
    if group.calories_kcal is not None:
        return f"{group.calories_kcal} kcal"
    return "to the limit" if group.to_limit else ""


def _segment(segment: Segment) -> str:
    reps = "limit" if segment.reps is None else str(segment.reps)
    drop = "" if segment.load_change_pct is None else f" at {_plain(segment.load_change_pct)} %"
    rest = f"({segment.rest_before_s} s) " if segment.rest_before_s else ""
    return f"{rest}{reps}{drop}"


def _plain(value: Decimal) -> str:
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
