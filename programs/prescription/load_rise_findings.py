"""Planned jumps from week to week, told before publishing: loads that rise by more than 10 %, sets by more than 30 %.

Each working week is held against the working week before it; deload weeks are left out.
"""

from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN, Decimal
from itertools import pairwise

from programs.prescription.constants import LOAD_RISE_MAX_PCT, PERCENT, WEEK_SETS_RISE_MAX_PCT
from programs.prescription.findings import Finding
from programs.prescription.prescribed_loads import AbsoluteLoad, PercentLoad
from programs.prescription.structure import Session, Slot, VersionContent, Week
from programs.prescription.volume import set_times

_TENTH = Decimal("0.1")

# Two loads compare where both are written, or both are percentages of one reference.
_Measured = tuple[str, Decimal]


def load_rise_findings(content: VersionContent) -> Iterator[Finding]:
    """Find the planned jumps of a version.

    Source: ACSM 2009 Med Sci Sports Exerc 41:687-708 (raise load by 2-10 %); the rise in sets is practice.
    """
    working = [(index, week) for index, week in enumerate(content.weeks) if not week.deload]
    for (_, before), (index, after) in pairwise(working):
        place = f"#/weeks/{index}"
        yield from _sets_rise(before, after, place)
        earlier = {day.session.template_key: day.session for day in before.days}
        for day_index, day in enumerate(after.days):
            session = earlier.get(day.session.template_key)
            if session is not None:
                week_numbers = (before.week_number, after.week_number)
                yield from _load_rises(session, day.session, week_numbers, f"{place}/days/{day_index}")


def _load_rises(old: Session, new: Session, weeks: tuple[int, int], place: str) -> Iterator[Finding]:
    before = {slot.slot_key: slot for slot in old.slots}
    for block_index, block in enumerate(new.blocks):
        for slot_index, slot in enumerate(block.slots):
            earlier = before.get(slot.slot_key)
            if earlier is None or earlier.exercise != slot.exercise:
                continue
            rise_pct = _rise_pct(earlier, slot)
            if rise_pct is not None and rise_pct > LOAD_RISE_MAX_PCT:
                yield Finding(
                    severity="note",
                    code="planned_load_jump",
                    message=(
                        f"{slot.slot_key} is planned {rise_pct} % heavier in week {weeks[1]} than in week {weeks[0]}."
                    ),
                    pointer=f"{place}/blocks/{block_index}/slots/{slot_index}",
                    rule="Load rises by 2 to 10 % at a time.",
                    source="ACSM 2009 Med Sci Sports Exerc 41:687-708.",
                    suggestion="Take a smaller step, or add repetitions before load.",
                    figure=rise_pct,
                    bound=LOAD_RISE_MAX_PCT,
                    unit="%",
                )


def _sets_rise(before: Week, after: Week, place: str) -> Iterator[Finding]:
    earlier, later = _working_sets(before), _working_sets(after)
    if not earlier:
        return
    rise_pct = _pct(Decimal(later), Decimal(earlier))
    if rise_pct > WEEK_SETS_RISE_MAX_PCT:
        yield Finding(
            severity="note",
            code="planned_volume_jump",
            message=(
                f"Week {after.week_number} has {later} working sets against {earlier} in week {before.week_number}."
            ),
            pointer=place,
            rule=f"Weekly working sets rise by {WEEK_SETS_RISE_MAX_PCT} % at most.",
            source="Practice.",
            suggestion="Spread the rise over more weeks.",
            figure=rise_pct,
            bound=WEEK_SETS_RISE_MAX_PCT,
            unit="%",
        )


def _working_sets(week: Week) -> int:
    return sum(
        set_times(block, slot, group)
        for day in week.days
        for block in day.session.blocks
        for slot in block.slots
        for group in slot.sets
        if group.counts_as_work
    )


def _rise_pct(old: Slot, new: Slot) -> Decimal | None:
    before, after = _heaviest(old), _heaviest(new)
    rises = [_pct(after[kind], before[kind]) for kind in after if kind in before and before[kind] > 0]
    return max(rises, default=None)


def _heaviest(slot: Slot) -> dict[str, Decimal]:
    found: dict[str, Decimal] = {}
    for group in slot.sets:
        measured = _measured(group.load) if group.counts_as_work else None
        if measured is not None:
            kind, value = measured
            found[kind] = max(value, found.get(kind, value))
    return found


def _measured(load: object) -> _Measured | None:
    if isinstance(load, AbsoluteLoad):
        return "load", load.load_kg
    if isinstance(load, PercentLoad):
        return load.of, load.pct
    return None


def _pct(later: Decimal, earlier: Decimal) -> Decimal:
    return ((later / earlier - 1) * PERCENT).quantize(_TENTH, rounding=ROUND_HALF_EVEN)
