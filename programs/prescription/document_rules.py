"""What no well-shaped document may say, because nobody could perform it.

The rules read the raw JSON, not the decoded parts, so that a fault of shape in one place hides no fault of
structure in another. Where a value has the wrong type a rule passes over it: its shape is already refused.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from programs.prescription.constants import (
    CIRCUIT_SLOTS_MIN,
    PAIRED_SLOTS_MAX,
    PAIRED_SLOTS_MIN,
    S_PER_MIN,
    SESSION_SETS_MAX,
    SLOTS_MAX,
)
from programs.prescription.document_faults import DocumentFault, Place, pointer
from programs.prescription.set_rules import absent, entry_faults, is_object, items, present_fields, set_faults
from programs.prescription.vocabulary import LISTED_ROUND_KINDS, ROUND_BLOCK_KINDS, TOP_SET_KINDS

_SLOT_BOUNDS: Final[dict[str, tuple[int, int]]] = {
    "straight": (1, 1),
    "paired": (PAIRED_SLOTS_MIN, PAIRED_SLOTS_MAX),
    "circuit": (CIRCUIT_SLOTS_MIN, SLOTS_MAX),
    "steady": (1, 1),
}
"""Fewest and most slots of a kind of block; the others take 1 to 12. Practice."""

_TIMING_FIELDS: Final = (
    "rounds",
    "work_s",
    "off_s",
    "minutes",
    "entry",
    "cap_min",
    "every_s",
    "rest_between_rounds_s",
)
"""The fields by which a block is timed. Practice."""

_TIMED_BY: Final[dict[str, frozenset[str]]] = {
    "straight": frozenset({"cap_min"}),
    "paired": frozenset({"cap_min", "rest_between_rounds_s"}),
    "circuit": frozenset({"rounds", "entry", "cap_min", "rest_between_rounds_s"}),
    "interval": frozenset({"rounds", "work_s", "off_s", "entry", "cap_min", "rest_between_rounds_s"}),
    "rounds_for_time": frozenset({"rounds", "entry", "cap_min", "rest_between_rounds_s"}),
    "max_rounds": frozenset({"minutes", "entry", "rest_between_rounds_s"}),
    "every_minute": frozenset({"minutes", "rounds", "entry", "every_s"}),
    "steady": frozenset({"minutes", "cap_min"}),
}
"""Which of those each kind of block uses. Practice."""

_NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "interval": ("rounds", "work_s", "off_s"),
    "rounds_for_time": ("rounds",),
    "max_rounds": ("minutes",),
}
"""Which of those each kind of block cannot do without. Practice."""


def version_rule_faults(raw: object) -> Iterator[DocumentFault]:
    """Find every fault of structure in a version's raw document."""
    for index, week in items(raw, "weeks"):
        place: Place = ("weeks", index)
        number = week.get("week_number")
        if isinstance(number, int) and number != index + 1:
            yield _fault(
                (*place, "week_number"),
                "week_number",
                f"Number the weeks 1, 2, 3 and so on in order: this one is {index + 1}.",
            )
        yield from _days_faults(week, place)


def session_rule_faults(raw: object, place: Place = ()) -> Iterator[DocumentFault]:
    """Find every fault of structure in a session's raw document."""
    seen: set[str] = set()
    for index, block in items(raw, "blocks"):
        block_place: Place = (*place, "blocks", index)
        yield from _block_faults(block, block_place)
        for slot_index, slot in items(block, "slots"):
            slot_place: Place = (*block_place, "slots", slot_index)
            yield from _slot_key_faults(slot, slot_place, seen)
    total = sum(_sets_asked(block) for _, block in items(raw, "blocks"))
    if total > SESSION_SETS_MAX:
        yield _fault(
            (*place, "blocks"),
            "too_many_sets",
            f"A session takes at most {SESSION_SETS_MAX} sets with its rounds multiplied out, not {total}.",
        )


def _sets_asked(block: Mapping[str, Any]) -> int:
    rounds = block.get("rounds")
    times = rounds if isinstance(rounds, int) else 1
    listed = [_counted(items(slot, "sets")) for _, slot in items(block, "slots")]
    return sum(count if _for_each_round(block, count) else count * times for count in listed)


def _counted(sets: Sequence[tuple[int, Mapping[str, Any]]]) -> int:
    counts = [group.get("count", 1) for _, group in sets]
    return sum(count for count in counts if isinstance(count, int))


def _for_each_round(block: Mapping[str, Any], listed: int) -> bool:
    """Say whether a slot that lists so many sets has one for each of its block's rounds."""
    return block.get("kind") in LISTED_ROUND_KINDS and listed > 1 and listed == block.get("rounds")


def _days_faults(week: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    seen: set[int] = set()
    for index, day in items(week, "days"):
        day_place: Place = (*place, "days", index)
        number = day.get("day_number")
        if isinstance(number, int):
            if number in seen:
                yield _fault(
                    (*day_place, "day_number"),
                    "day_number_repeated",
                    f"Give each day of a week its own number: {number} is used already.",
                )
            seen.add(number)
        yield from session_rule_faults(day, day_place)


def _slot_key_faults(slot: Mapping[str, Any], place: Place, seen: set[str]) -> Iterator[DocumentFault]:
    for index, group in items(slot, "sets"):
        load = group.get("load")
        if not is_object(load) or load.get("kind") != "same_as":
            continue
        wanted = load.get("slot_key")
        if isinstance(wanted, str) and wanted not in seen:
            yield _fault(
                (*place, "sets", index, "load", "slot_key"),
                "unknown_slot",
                "Name a slot that comes earlier in this session: its load is not known before it is lifted.",
            )
    key = slot.get("slot_key")
    if not isinstance(key, str):
        return
    if key in seen:
        yield _fault(
            (*place, "slot_key"),
            "slot_key_repeated",
            "Give each slot of a session its own slot_key: this one is used already.",
        )
    seen.add(key)


def _block_faults(block: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    kind = block.get("kind")
    if not isinstance(kind, str) or kind not in _TIMED_BY:
        return
    yield from _slot_count_faults(block, kind, place)
    yield from _timing_faults(block, kind, place)
    entry = block.get("entry")
    if is_object(entry):
        yield from entry_faults(entry, (*place, "entry"))
    # An interval without its clock is refused for that already, not for each of its slots as well.
    timed = kind == "interval" or (kind == "steady" and not absent(block, "minutes"))
    in_rounds = kind in ROUND_BLOCK_KINDS or not absent(block, "rounds")
    for index, slot in items(block, "slots"):
        slot_place: Place = (*place, "slots", index)
        yield from _slot_faults(slot, slot_place, timed_by_block=timed)
        if in_rounds:
            yield from _repeated_set_faults(block, slot, slot_place)


def _repeated_set_faults(block: Mapping[str, Any], slot: Mapping[str, Any], place: Place) -> Iterator[DocumentFault]:
    listed = _counted(items(slot, "sets"))
    if listed <= 1 or _for_each_round(block, listed):
        return
    advice = "Give this slot one set with count 1: the block's rounds or minutes repeat it."
    if block.get("kind") in LISTED_ROUND_KINDS:
        advice = "Give this slot one set with count 1, which each round repeats, or as many sets as there are rounds."
    yield _fault((*place, "sets"), "sets_in_rounds", advice)


def _slot_count_faults(block: Mapping[str, Any], kind: str, place: Place) -> Iterator[DocumentFault]:
    slots = block.get("slots")
    if kind not in _SLOT_BOUNDS or not isinstance(slots, list) or not slots:
        return
    least, most = _SLOT_BOUNDS[kind]
    if least <= len(slots) <= most:
        return
    wanted = f"exactly {least}" if least == most else f"{least} to {most}"
    advice = {
        "straight": "Give each exercise a straight block of its own, or pair them.",
        "paired": "Use a straight block for one exercise and a circuit for five or more.",
    }.get(kind, "Add or take out slots.")
    yield _fault((*place, "slots"), "slot_count", f"{kind} blocks have {wanted} slot(s), not {len(slots)}. {advice}")


def _timing_faults(block: Mapping[str, Any], kind: str, place: Place) -> Iterator[DocumentFault]:
    given = present_fields(block, _TIMING_FIELDS)
    for name in given:
        if name not in _TIMED_BY[kind]:
            yield _fault((*place, name), "field_not_used", f"Take out {name}: {kind} blocks are not timed by it.")
    for name in _NEEDED.get(kind, ()):
        if name not in given:
            yield _fault((*place, name), "required", f"Add {name}: {kind} blocks cannot be timed without it.")
    if kind == "every_minute" and ("minutes" in given) == ("rounds" in given):
        yield _fault(place, "minutes_or_rounds", "Give either minutes or rounds, one of them.")
    every_s, minutes = block.get("every_s"), block.get("minutes")
    if isinstance(every_s, int) and isinstance(minutes, int) and every_s > 0 and minutes * S_PER_MIN % every_s:
        yield _fault(
            (*place, "minutes"),
            "broken_interval",
            f"Make minutes a whole number of intervals: {minutes} min is not one of {every_s} s.",
        )


def _slot_faults(slot: Mapping[str, Any], place: Place, *, timed_by_block: bool) -> Iterator[DocumentFault]:
    sets = items(slot, "sets")
    listed = slot.get("sets", [])
    if listed == [] and not timed_by_block:
        yield _fault((*place, "sets"), "no_sets", "Add at least one set: this slot asks for nothing.")
    found_top = False
    for index, group in sets:
        set_place: Place = (*place, "sets", index)
        yield from set_faults(group, set_place, timed_by_block=timed_by_block)
        load = group.get("load")
        relative = is_object(load) and load.get("kind") == "relative_to_top"
        if relative and not found_top:
            yield _fault(
                (*set_place, "load"),
                "no_top_set",
                "Put a set of kind top, ramp or test before this one: its load is a percentage of that set's.",
            )
        found_top = found_top or group.get("kind") in TOP_SET_KINDS


def _fault(place: Place, code: str, message: str) -> DocumentFault:
    return DocumentFault(pointer=pointer(place), code=code, message=message)
