"""What no set, segment, load or entry piece may say. Like `document_rules`, over the raw JSON."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Any, Final, TypeGuard

from programs.prescription.constants import RPE_MAX, SEGMENTS_MIN
from programs.prescription.document_faults import DocumentFault, Place, pointer

_OTHER_MEASURES: Final = ("duration_s", "distance_m", "calories_kcal")
"""Measures beside repetitions. Practice."""


def absent(part: Mapping[str, Any], name: str) -> bool:
    """Say whether a field is missing or null."""
    return part.get(name) is None


def is_object(value: object) -> TypeGuard[Mapping[str, Any]]:
    """Say whether a value is a JSON object; most are plain dictionaries, and a rule asks this of every part."""
    return value.__class__ is dict or isinstance(value, Mapping)


def present_fields(part: Mapping[str, Any], names: Sequence[str]) -> list[str]:
    """Give the named fields that are neither missing nor null."""
    return [name for name in names if part.get(name) is not None]


def items(part: object, name: str) -> list[tuple[int, Mapping[str, Any]]]:
    """Give the objects of a list field with their places; what is not an object is passed over."""
    listed = part.get(name) if is_object(part) else None
    if not isinstance(listed, list):
        return []
    # Said here once more rather than asked of `is_object`: this runs over every set of a session.
    return [(index, item) for index, item in enumerate(listed) if item.__class__ is dict or isinstance(item, Mapping)]


def entry_faults(entry: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    """Find the faults of an entry piece: it has exactly one measure."""
    if len(present_fields(entry, _OTHER_MEASURES)) != 1:
        yield _fault(place, "one_measure", "Give the entry piece one of duration_s, distance_m or calories_kcal.")


def set_faults(group: Mapping[str, Any], place: Place, *, timed_by_block: bool) -> Iterator[DocumentFault]:
    """Find the faults of a set group.

    Args:
        group: the raw set group.
        place: where it stands.
        timed_by_block: whether the block's clock gives the work, so that the set needs no measure.
    """
    yield from _measure_faults(group, place, timed_by_block=timed_by_block)
    yield from _reps_faults(group, place)
    yield from _effort_faults(group, place)
    yield from _segment_faults(group, place)
    load = group.get("load")
    if is_object(load) and load.get("kind") == "absolute":
        yield from _unit_faults(load, (*place, "load"))


def _measure_faults(group: Mapping[str, Any], place: Place, *, timed_by_block: bool) -> Iterator[DocumentFault]:
    others = present_fields(group, _OTHER_MEASURES)
    reps = present_fields(group, ("reps_low", "reps_high"))
    given = [*reps[:1], *others, *(["segments"] if group.get("segments") else [])]
    if len(given) > 1:
        yield _fault(place, "one_measure", f"Keep one of {' and '.join(given)}: a set is measured in one way only.")
    if not given and not group.get("to_limit") and not timed_by_block:
        yield _fault(
            place,
            "no_measure",
            "Say how much: reps_low, duration_s, distance_m, calories_kcal, segments or to_limit.",
        )
    if others and not absent(group, "tempo"):
        yield _fault(
            (*place, "tempo"),
            "tempo_without_reps",
            f"Take out the tempo: it times repetitions, and this set is measured by {others[0]}.",
        )


def _reps_faults(group: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    low, high = group.get("reps_low"), group.get("reps_high")
    if low is None and high is not None:
        yield _fault((*place, "reps_low"), "required", "Add reps_low: a range needs its lower end.")
    if isinstance(low, int) and isinstance(high, int) and low > high:
        yield _fault((*place, "reps_high"), "reps_order", f"Make reps_high at least reps_low: {high} is below {low}.")


def _effort_faults(group: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    if not absent(group, "rpe") and not absent(group, "in_reserve"):
        yield _fault(place, "one_effort", "Keep rpe or in_reserve, not both: they say the same thing.")
        return
    if group.get("to_limit") is not True:
        return
    rpe, in_reserve = _number(group.get("rpe")), _number(group.get("in_reserve"))
    if (rpe is not None and rpe < RPE_MAX) or (in_reserve is not None and in_reserve > 0):
        yield _fault(
            place,
            "effort_at_limit",
            "Take out to_limit or the effort: a set to the limit leaves nothing in reserve (RPE 10).",
        )


def _segment_faults(group: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    listed = group.get("segments")
    if not isinstance(listed, list) or not listed:
        return
    if len(listed) < SEGMENTS_MIN:
        yield _fault(
            (*place, "segments"), "segment_count", "Give two segments or more, or write the repetitions alone."
        )
    if group.get("to_limit") is True:
        yield _fault(
            (*place, "to_limit"), "to_limit_beside_segments", "Put to_limit on the segment that goes to the limit."
        )
    for index, segment in items(group, "segments"):
        segment_place: Place = (*place, "segments", index)
        if absent(segment, "reps") and segment.get("to_limit") is not True:
            yield _fault(segment_place, "no_measure", "Say how much: reps, or to_limit.")
        if index == 0 and (segment.get("rest_before_s") or not absent(segment, "load_change_pct")):
            yield _fault(
                segment_place,
                "first_segment",
                "Take rest_before_s and load_change_pct out of the first segment: the set starts with it.",
            )


def _unit_faults(load: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    given = present_fields(load, ("load_kg", "load_lb"))
    if len(given) != 1:
        found = "both" if given else "neither"
        yield _fault(place, "one_unit", f"Give the load as load_kg or load_lb, one of them; {found} was sent.")


def _number(value: object) -> Decimal | None:
    if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
        return None
    try:
        return Decimal(str(value))
    except InvalidOperation:
        return None


def _fault(place: Place, code: str, message: str) -> DocumentFault:
    return DocumentFault(pointer=pointer(place), code=code, message=message)
