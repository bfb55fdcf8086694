"""Reading what a slot asks for from a session as it was written out for a client."""

import json
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any, Final

from coaching.measures.load import kg_to_lb
from logs.analysis.constants import RPE_TOP
from logs.analysis.load_advice_facts import SlotTarget, TargetKind
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS, LoadUnit

_KINDS: Final[Mapping[str, TargetKind]] = {
    "absolute": "absolute",
    "percent": "percent",
    "bodyweight": "bodyweight",
}
"""Kinds of written load that advice speaks to, beside sets by effort. Practice."""

_SHOWN: Final = Decimal("0.01")
"""Loads in another unit than they were written in are shown to a hundredth. Practice."""

_NO_LOAD: Final = -1


def slot_target(slot: Mapping[str, Any], unit: LoadUnit, *, planned: bool = False) -> SlotTarget | None:
    """Read the leading sets of a slot: its top set, else its heaviest work sets, else the first.

    Args:
        slot: the slot, as a planned session's document has it; an accepted load is looked through, to what it
            stands instead of.
        unit: the client's unit.
        planned: look through sets and effort accepted after a gap as well; else they are what is asked.

    Returns:
        The target; None where no set that counts has a load of its own (all on the day's top set, bands).
    """
    before: Sequence[Mapping[str, Any]] = slot.get("accepted_load", {}).get("sets_before") or [{}] * len(slot["sets"])
    plain = [{**group, **asked} for group, asked in zip(slot["sets"], before, strict=True)]
    groups: Sequence[Mapping[str, Any]] = plain if planned else slot["sets"]
    counting = [place for place, group in enumerate(groups) if group.get("kind", "work") not in UNCOUNTED_SET_KINDS]
    leading = [place for place in counting if _kind(groups[place]) is not None]
    if not leading:
        return None
    lead = max(leading, key=lambda place: (_rank(groups[place], unit), -place))
    asked = _asked(groups[lead])
    own = [place for place in leading if _asked(groups[place]) == asked]
    sharing = [place for place in leading if _written(groups[place]) == _written(groups[lead])]
    numbers = _numbers(groups)
    return _target(
        groups[lead],
        unit,
        groups=tuple(sharing),
        set_numbers=frozenset(number for place in own for number in numbers[place]),
        alone=own == counting,
        sets=sum(len(numbers[place]) for place in own),
        effort_planned=_reserve(plain[lead]),
    )


def present_load(slot: Mapping[str, Any], target: SlotTarget, unit: LoadUnit) -> Decimal | None:
    """Give the load that a slot's leading sets have now, an accepted one included; None where there is no figure.

    Args:
        slot: the slot, as a planned session's document has it.
        target: what it asks.
        unit: the client's unit.
    """
    return _resolved(slot["sets"][target.groups[0]], unit)


def _target(group: Mapping[str, Any], unit: LoadUnit, **places: Any) -> SlotTarget:
    low, high = _reps(group)
    load = _load_of(group)
    return SlotTarget(
        reps_low=low,
        reps_high=high,
        to_limit=_to_limit(group),
        reserve=_reserve(group),
        kind=_kind(group) or "by_effort",
        written=_written(group),
        resolved=_resolved(load, unit),
        from_what=load.get("resolved_from") or "",
        suggestion=load.get("suggestion"),
        **places,
    )


def _load_of(group: Mapping[str, Any]) -> Mapping[str, Any]:
    found: Mapping[str, Any] = group.get("instead_of") or group
    return found


def _written(group: Mapping[str, Any]) -> str:
    load = _load_of(group).get("load")
    return "" if load is None else json.dumps(load, sort_keys=True)


def _kind(group: Mapping[str, Any]) -> TargetKind | None:
    load = _load_of(group).get("load")
    return "by_effort" if load is None else _KINDS.get(load["kind"])


def _rank(group: Mapping[str, Any], unit: LoadUnit) -> tuple[bool, Decimal]:
    resolved = _resolved(_load_of(group), unit)
    return group.get("kind") == "top", Decimal(_NO_LOAD) if resolved is None else resolved


def _asked(group: Mapping[str, Any]) -> tuple[Any, ...]:
    return (*_reps(group), _to_limit(group), _reserve(group), _written(group), group.get("kind") == "top")


def _numbers(groups: Sequence[Mapping[str, Any]]) -> list[range]:
    found: list[range] = []
    first = 1
    for group in groups:
        found.append(range(first, first + group.get("count", 1)))
        first = found[-1].stop
    return found


def _reps(group: Mapping[str, Any]) -> tuple[int | None, int | None]:
    if group.get("segments"):
        first = group["segments"][0].get("reps")
        return first, first
    low = group.get("reps_low")
    high = group.get("reps_high")
    return low, low if high is None else high


def _to_limit(group: Mapping[str, Any]) -> bool:
    return bool(group.get("to_limit")) or group.get("kind") == "to_limit"


def _reserve(group: Mapping[str, Any]) -> Decimal | None:
    if _to_limit(group):
        return None
    if group.get("in_reserve") is not None:
        return Decimal(str(group["in_reserve"]))
    return None if group.get("rpe") is None else max(RPE_TOP - Decimal(str(group["rpe"])), Decimal(0))


def _resolved(load: Mapping[str, Any], unit: LoadUnit) -> Decimal | None:
    if load.get("load_status") == "bodyweight":
        return Decimal(0)
    if load.get("load_kg") is None:
        return None
    if load.get("load_unit") == unit:
        return Decimal(load[f"load_{unit}"])
    kg = Decimal(load["load_kg"])
    return kg.quantize(_SHOWN, ROUND_HALF_EVEN) if unit == "kg" else kg_to_lb(kg).quantize(_SHOWN, ROUND_HALF_EVEN)
