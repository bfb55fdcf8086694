"""What each progression rule does to one slot of week 1, and why it cannot."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import Final

from programs.prescription.constants import (
    PERCENT,
    PERCENT_MAX_PCT,
    PERCENT_MIN_PCT,
    REPS_MAX,
    REST_MAX_S,
    SET_COUNT_MAX,
    TEMPO_PART_MAX_S,
)
from programs.prescription.loadable import loadable
from programs.prescription.prescribed_loads import AbsoluteLoad, PercentLoad
from programs.prescription.progression_rules import (
    Deload,
    DoubleProgression,
    LoadChange,
    LoadStep,
    PercentRule,
    ProgressionRule,
    RepetitionStep,
    RestStep,
    SetStep,
    TempoStep,
    Wave,
)
from programs.prescription.structure import ExerciseFacts, SetGroup, Slot
from programs.prescription.vocabulary import LoadUnit, Phase

_UNKNOWN_STEP: Final[dict[LoadUnit, Decimal]] = {"kg": Decimal("2.5"), "lb": Decimal(5)}
"""Step of a load whose exercise is not known, by unit. Practice."""

_HALF: Final = Decimal("0.5")
"""Percentages that are reckoned are given in halves. Practice."""

_UNSTEPPED: Final = Decimal("0.1")
"""Loads of what is not loaded in steps are given to a tenth. Practice."""


class StepError(ValueError):
    """A step that cannot be taken; the text says what to change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedWeek:
    """A week to be reckoned: its number, how many working weeks lie before it, and which weeks are deloads.

    A deload week counts as the working week before it, which it then makes lighter.
    """

    week_number: int
    deload_weeks: Collection[int]

    @property
    def working_index(self) -> int:
        """The working weeks up to this one, less one: 0 in week 1."""
        return sum(week not in self.deload_weeks for week in range(1, self.week_number + 1)) - 1


def apply_rule(rule: ProgressionRule, slot: Slot, week: SteppedWeek, facts: ExerciseFacts | None) -> Slot:
    """Give a slot as a rule makes it in a week.

    Args:
        rule: the rule, which is for this slot.
        slot: the slot of week 1, as the rules before have left it.
        week: which week.
        facts: its exercise, whose loading says how loads are rounded; None rounds to plates.

    Raises:
        StepError: when the step leaves what can be performed.
    """
    match rule:
        case Wave():
            place = week.working_index % (len(rule.weeks) + 1)
            return slot if not place else _waved(rule, place, slot, facts)
        case Deload():
            return slot if week.week_number not in week.deload_weeks else _deloaded(rule, slot, facts)
        case _:
            steps = rule.pace.steps(week.week_number, week.deload_weeks)
            return slot if not steps else _stepped(rule, slot, steps, facts)


def _stepped(
    rule: LoadStep | PercentRule | RepetitionStep | SetStep | RestStep | TempoStep | DoubleProgression,
    slot: Slot,
    steps: int,
    facts: ExerciseFacts | None,
) -> Slot:
    match rule:
        case LoadStep():
            return _each_load(slot, lambda load: _changed(load, rule.change, steps, facts))
        case PercentRule():
            return _percent(rule, slot, steps)
        case RepetitionStep():
            return _each(slot, lambda group: _more_reps(group, rule.step_reps * steps, rule.limit_reps))
        case SetStep():
            return _more_sets(slot, _limited(slot_sets(slot), rule.step_sets * steps, rule.limit_sets))
        case RestStep():
            return _rested(rule, slot, steps)
        case TempoStep():
            return _each(slot, lambda group: _slower(group, rule.phase, rule.step_s * steps, rule.limit_s))
        case DoubleProgression():
            return _each(slot, lambda group: _doubled(group, rule, steps, facts))


def has_effect(rule: ProgressionRule, slot: Slot) -> bool:
    """Say whether a slot of week 1 has anything that a rule can change."""
    work = [group for group in slot.sets if group.counts_as_work]
    match rule:
        case LoadStep():
            return any(_takes(group, rule.change) for group in work)
        case PercentRule():
            return any(isinstance(group.load, PercentLoad) for group in work)
        case RepetitionStep() | DoubleProgression():
            return any(group.reps_low is not None for group in work)
        case RestStep():
            return slot.rest_s is not None
        case TempoStep():
            return any(_can_slow(group, rule.phase) for group in work)
        case _:
            return bool(work)


def slot_sets(slot: Slot) -> int:
    """Count a slot's working sets."""
    return sum(group.count for group in slot.sets if group.counts_as_work)


def _each(slot: Slot, change: Callable[[SetGroup], SetGroup]) -> Slot:
    return replace(slot, sets=tuple(change(group) if group.counts_as_work else group for group in slot.sets))


def _each_load(slot: Slot, change: Callable[[AbsoluteLoad], AbsoluteLoad]) -> Slot:
    def with_load(group: SetGroup) -> SetGroup:
        return replace(group, load=change(group.load)) if isinstance(group.load, AbsoluteLoad) else group

    return _each(slot, with_load)


def _takes(group: SetGroup, change: LoadChange) -> bool:
    return isinstance(group.load, AbsoluteLoad) and (change.pct is not None or change.unit == group.load.unit)


def _changed(load: AbsoluteLoad, change: LoadChange, steps: int, facts: ExerciseFacts | None) -> AbsoluteLoad:
    if change.pct is not None:
        return _scaled(load, change.pct * steps, facts)
    if change.amount is None or change.unit != load.unit:
        return load
    return replace(load, value=load.value + change.amount * steps)


def _scaled(load: AbsoluteLoad, pct: Decimal, facts: ExerciseFacts | None) -> AbsoluteLoad:
    """Change a load by a percentage, rounded down to what can be loaded; never below what stood where nothing fits."""
    asked = replace(load, value=load.value * (PERCENT + pct) / PERCENT)
    if facts is None:
        return _floored(asked, _UNKNOWN_STEP[load.unit])
    fits = loadable(asked, facts.loading, load.unit)
    if fits.load is None:
        return load
    return fits.load if fits.step is not None else _floored(fits.load, _UNSTEPPED)


def _floored(load: AbsoluteLoad, step: Decimal) -> AbsoluteLoad:
    return replace(load, value=(load.value / step).to_integral_value(rounding=ROUND_FLOOR) * step)


def _percent(rule: PercentRule, slot: Slot, steps: int) -> Slot:
    def with_pct(group: SetGroup) -> SetGroup:
        if not isinstance(group.load, PercentLoad):
            return group
        if rule.step_pct is None:
            pct = rule.pcts[min(steps, len(rule.pcts)) - 1]
        else:
            pct = group.load.pct + rule.step_pct * steps
        if not PERCENT_MIN_PCT <= pct <= PERCENT_MAX_PCT:
            raise StepError(
                f"The percentage would become {pct:f}; keep it from {PERCENT_MIN_PCT} to {PERCENT_MAX_PCT}."
            )
        return replace(group, load=replace(group.load, pct=pct))

    return _each(slot, with_pct)


def _rested(rule: RestStep, slot: Slot, steps: int) -> Slot:
    if slot.rest_s is None:
        return slot
    rest_s = _limited(slot.rest_s, rule.step_s * steps, rule.limit_s)
    return replace(slot, rest_s=_within(rest_s, 0, REST_MAX_S, "the rest, in s"))


def _more_reps(group: SetGroup, change: int, limit: int | None) -> SetGroup:
    if group.reps_low is None:
        return group
    top = group.reps_low if group.reps_high is None else group.reps_high
    moved = _limited(top, change, limit) - top
    _within(group.reps_low + moved, 1, REPS_MAX, "the repetitions")
    high = None if group.reps_high is None else _within(group.reps_high + moved, 1, REPS_MAX, "the repetitions")
    return replace(group, reps_low=group.reps_low + moved, reps_high=high)


def _doubled(group: SetGroup, rule: DoubleProgression, steps: int, facts: ExerciseFacts | None) -> SetGroup:
    if group.reps_low is None or group.reps_low >= rule.reps_high:
        return group
    climb = -(-(rule.reps_high - group.reps_low) // rule.step_reps)
    rises, place = divmod(steps, climb + 1)
    low = min(group.reps_low + place * rule.step_reps, rule.reps_high)
    high = None if group.reps_high is None else max(low, group.reps_high)
    load = group.load
    if rises and isinstance(load, AbsoluteLoad):
        load = _changed(load, rule.change, rises, facts)
    return replace(group, reps_low=low, reps_high=high, load=load)


def _more_sets(slot: Slot, wanted: int) -> Slot:
    _within(wanted, 1, SET_COUNT_MAX, "the working sets")
    more = wanted - slot_sets(slot)
    groups = list(slot.sets)
    for index in reversed(range(len(groups))):
        group = groups[index]
        if not group.counts_as_work or not more:
            continue
        count = max(0, group.count + more)
        more -= count - group.count
        groups[index] = replace(group, count=count)
    return replace(slot, sets=tuple(group for group in groups if group.count))


def _can_slow(group: SetGroup, phase: Phase) -> bool:
    if group.tempo is None:
        return False
    return phase != "concentric" or not (group.tempo.explosive or group.tempo.assisted)


def _slower(group: SetGroup, phase: Phase, change: int, limit: int | None) -> SetGroup:
    if group.tempo is None or not _can_slow(group, phase):
        return group
    seconds = _limited(group.tempo.phase_s(phase), change, limit)
    _within(seconds, 0, TEMPO_PART_MAX_S, f"the {phase}, in s")
    tempo = group.tempo
    match phase:
        case "eccentric":
            return replace(group, tempo=replace(tempo, eccentric_s=seconds))
        case "lengthened":
            return replace(group, tempo=replace(tempo, lengthened_s=seconds))
        case "concentric":
            return replace(group, tempo=replace(tempo, concentric_s=seconds))
        case "shortened":
            return replace(group, tempo=replace(tempo, shortened_s=seconds))


def _waved(rule: Wave, place: int, slot: Slot, facts: ExerciseFacts | None) -> Slot:
    change = rule.weeks[place - 1]
    waved = _each(slot, lambda group: _more_reps(group, change.reps, None))
    waved = _more_sets(waved, slot_sets(waved) + change.sets)
    return _lighter(waved, change.load_pct, facts)


def _deloaded(rule: Deload, slot: Slot, facts: ExerciseFacts | None) -> Slot:
    sets = slot_sets(slot)
    if not sets:
        return slot
    kept = max(1, int((sets * rule.sets_pct / PERCENT).to_integral_value(rounding=ROUND_CEILING)))
    return _lighter(_more_sets(slot, kept), rule.load_pct, facts)


def _lighter(slot: Slot, pct: Decimal, facts: ExerciseFacts | None) -> Slot:
    """Change written loads, and percentages of a reference, by a share of themselves."""
    if not pct:
        return slot

    def changed(group: SetGroup) -> SetGroup:
        if isinstance(group.load, AbsoluteLoad):
            return replace(group, load=_scaled(group.load, pct, facts))
        if isinstance(group.load, PercentLoad):
            asked = group.load.pct * (PERCENT + pct) / PERCENT
            halves = (asked / _HALF).to_integral_value(rounding=ROUND_HALF_EVEN) * _HALF
            if not PERCENT_MIN_PCT <= halves <= PERCENT_MAX_PCT:
                raise StepError(
                    f"The percentage would become {halves:f}; keep it from {PERCENT_MIN_PCT} to {PERCENT_MAX_PCT}."
                )
            return replace(group, load=replace(group.load, pct=halves))
        return group

    return _each(slot, changed)


def _limited(value: int, change: int, limit: int | None) -> int:
    """Change a number as far as its limit; one already past it stays."""
    changed = value + change
    if limit is None:
        return changed
    return min(changed, max(limit, value)) if change > 0 else max(changed, min(limit, value))


def _within(value: int, least: int, most: int, what: str) -> int:
    if not least <= value <= most:
        raise StepError(f"Step {what} no further than {least} to {most}: it would become {value}.")
    return value
