"""Writing the structure as plain JSON values. What is unset is left out of sets and blocks, to keep them short."""

from decimal import Decimal
from typing import Any

from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    Load,
    PercentLoad,
    RelativeToTopLoad,
)
from programs.prescription.structure import Block, Day, Entry, Segment, Session, SetGroup, Slot


def encode_day(day: Day) -> dict[str, Any]:
    """Write a day: the session's fields beside the day's number."""
    return {"day_number": day.day_number, **encode_session_fields(day.session)}


def encode_session_fields(session: Session) -> dict[str, Any]:
    """Write a session's own fields."""
    return {
        "template_key": session.template_key,
        "title": session.title,
        "cap_min": session.cap_min,
        "blocks": [_block(block) for block in session.blocks],
    }


def encode_set_group(group: SetGroup) -> dict[str, Any]:
    """Write a set group."""
    return {
        "count": group.count,
        "kind": group.kind,
        **_given(
            reps_low=group.reps_low,
            reps_high=group.reps_high,
            duration_s=group.duration_s,
            distance_m=_decimal(group.distance_m),
            calories_kcal=group.calories_kcal,
            to_limit=group.to_limit or None,
            segments=[_segment(segment) for segment in group.segments] or None,
            tempo=None if group.tempo is None else str(group.tempo),
            rpe=_decimal(group.rpe),
            in_reserve=_decimal(group.in_reserve),
            load=None if group.load is None else encode_load(group.load),
        ),
    }


def encode_load(load: Load) -> dict[str, Any]:
    """Write a prescribed load."""
    match load:
        case AbsoluteLoad():
            return {"kind": "absolute", f"load_{load.unit}": _decimal(load.value)}
        case BodyweightLoad():
            return {"kind": "bodyweight"}
        case PercentLoad():
            return {"kind": "percent", "of": load.of, "pct": _decimal(load.pct)}
        case RelativeToTopLoad():
            return {"kind": "relative_to_top", "pct": _decimal(load.pct)}
        case BandLoad():
            return {"kind": "band", "text": load.text}
        case _:
            return {"kind": "same_as", "slot_key": load.slot_key}


def _block(block: Block) -> dict[str, Any]:
    return {
        "kind": block.kind,
        "label": block.label,
        **_given(
            rounds=block.rounds,
            work_s=block.work_s,
            off_s=block.off_s,
            minutes=block.minutes,
            cap_min=block.cap_min,
            entry=None if block.entry is None else _entry(block.entry),
            every_s=block.every_s,
            rest_between_rounds_s=block.rest_between_rounds_s,
        ),
        "slots": [_slot(slot) for slot in block.slots],
    }


def _entry(entry: Entry) -> dict[str, Any]:
    return {
        "exercise": entry.exercise,
        **_given(
            duration_s=entry.duration_s,
            distance_m=_decimal(entry.distance_m),
            calories_kcal=entry.calories_kcal,
        ),
    }


def _slot(slot: Slot) -> dict[str, Any]:
    return {
        "slot_key": slot.slot_key,
        "exercise": slot.exercise,
        "goal": slot.goal,
        "per_side": slot.per_side,
        "rest_s": slot.rest_s,
        "notes": slot.notes,
        "sets": [encode_set_group(group) for group in slot.sets],
    }


def _segment(segment: Segment) -> dict[str, Any]:
    return _given(
        reps=segment.reps,
        to_limit=segment.to_limit or None,
        rest_before_s=segment.rest_before_s or None,
        load_change_pct=_decimal(segment.load_change_pct),
    )


def _decimal(value: Decimal | None) -> str | None:
    return None if value is None else format(value, "f")


def _given(**fields: object) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value is not None}
