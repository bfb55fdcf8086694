"""What came of a lift in a session, measured by what was asked of it then."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from logs.analysis.constants import PLACE_BOUND_LOADINGS
from logs.analysis.load_advice_facts import AdvisedSlot, Exposure, LoadAdvicePolicy, PerformedSet, SlotTarget

Verdict = Literal["topped", "done", "missed", "short", "incomplete", "effort_unknown", "effort_above", "unjudged"]

_Done = tuple[Exposure, tuple[PerformedSet, ...]]

SAME_LOAD: Final = Decimal("0.01")
"""Loads this close are the same load. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftOutcome:
    """What came of one exposure.

    Attributes:
        session: the session's id.
        local_date: its local date.
        load: the heaviest load of the leading sets, in the client's unit; None when none was given.
        converted: it was entered in the other unit.
        place: where it was done; empty for the usual place.
        reps: repetitions of each leading set at that load; of a one-sided lift those of the weaker side.
        reserves: repetitions in reserve of each; None where unknown.
        verdict: `topped` (all sets at the top of the range within the effort), `done` (all in the range), `missed` (a
            failed set, or under the range), `short` (two or more under it), `incomplete` (fewer or lighter sets),
            `effort_unknown` or `effort_above` (all at the top, the effort not said or over what was asked), or
            `unjudged` (nothing was asked).
        reserve_over: mean repetitions in reserve over those asked: above 0 it was easier; None when either is unknown.
        target: what was asked.
        slot_key: the slot that it was done in.
        full_sets: how many sets at that load were whole, with both sides of a one-sided lift.
    """

    session: str
    local_date: date
    load: Decimal | None
    converted: bool
    place: str
    reps: tuple[int, ...]
    reserves: tuple[Decimal | None, ...]
    verdict: Verdict
    reserve_over: Fraction | None
    target: SlotTarget | None
    slot_key: str = ""
    full_sets: int = 0

    @property
    def missed(self) -> bool:
        """Whether it was a miss, however large."""
        return self.verdict in ("missed", "short")


def comparable_outcomes(slot: AdvisedSlot, policy: LoadAdvicePolicy, since: date | None) -> tuple[LiftOutcome, ...]:
    """Judge the exposures that may be compared with a slot, newest first.

    Args:
        slot: the slot, with all exposures of its exercise.
        policy: what counts as a miss and as the top.
        since: exposures before this date say nothing any more; None leaves all in.

    Returns:
        Outcomes at the slot's tempo class; of stacks and plate machines at the slot's place and on the machine that was
        used last; deloads are left out, since nothing follows from them.

    Source: practice (loads at unlike tempos and on unlike machines are not comparable).
    """
    found = [
        (one, sets)
        for one in sorted(slot.exposures, key=lambda one: (one.local_date, one.session, one.slot_key), reverse=True)
        if not one.deload
        and (since is None or one.local_date >= since)
        and (sets := tuple(own for own in one.sets if own.tempo_class == slot.tempo_class))
    ]
    if slot.exercise.loading in PLACE_BOUND_LOADINGS:
        found = _on_one_machine(_at_one_place(found, slot.place))
    return tuple(_outcome(one, sets, policy) for one, sets in found)


def _at_one_place(found: Sequence[_Done], place: str) -> list[_Done]:
    """Keep what was done at a place; at the usual one, what has no other, else what was done where it was last."""
    own = [(one, sets) for one, sets in found if one.place == place]
    if own or place or not found:
        return own
    return [(one, sets) for one, sets in found if one.place == found[0][0].place]


def _on_one_machine(found: Sequence[_Done]) -> list[_Done]:
    if not found:
        return []
    machine = found[0][1][-1].machine
    own = [(one, tuple(done for done in sets if done.machine == machine)) for one, sets in found]
    return [(one, sets) for one, sets in own if sets]


@dataclass(frozen=True, slots=True)
class _Numbered:
    """The sides of one number, as its weaker side was done."""

    reps: int
    load: Decimal | None
    converted: bool
    reserve: Decimal | None
    failed: bool
    complete: bool


def _outcome(one: Exposure, sets: Sequence[PerformedSet], policy: LoadAdvicePolicy) -> LiftOutcome:
    to_limit = one.target is not None and one.target.to_limit
    done = [_weaker_side(group, to_limit=to_limit) for group in _by_number(_leading(sets, one.target))]
    loads = [own.load for own in done if own.load is not None]
    load = max(loads, default=None)
    at_load = [own for own in done if load is None or (own.load is not None and _same(own.load, load))]
    target = one.target
    return LiftOutcome(
        session=one.session,
        local_date=one.local_date,
        load=load,
        converted=any(own.converted for own in at_load),
        place=one.place,
        reps=tuple(own.reps for own in at_load),
        reserves=tuple(own.reserve for own in at_load),
        verdict="unjudged" if target is None or target.reps_low is None else _verdict(done, at_load, target, policy),
        reserve_over=None if target is None else _reserve_over(at_load, target),
        target=target,
        slot_key=one.slot_key,
        full_sets=sum(own.complete for own in at_load),
    )


def _verdict(
    done: Sequence[_Numbered], at_load: Sequence[_Numbered], target: SlotTarget, policy: LoadAdvicePolicy
) -> Verdict:
    low = target.reps_low or 0
    if any(own.reps <= low - policy.short_reps for own in done):
        return "short"
    if any(own.reps < low or (own.failed and not target.to_limit) for own in done):
        return "missed"
    if len(at_load) < target.sets or not all(own.complete for own in at_load):
        return "incomplete"
    if any(own.reps < range_top(target, policy) for own in at_load):
        return "done"
    return _effort_verdict(at_load, target)


def _effort_verdict(at_load: Sequence[_Numbered], target: SlotTarget) -> Verdict:
    if target.reserve is None:
        return "topped"
    known = [own.reserve for own in at_load if own.reserve is not None]
    if any(reserve < target.reserve for reserve in known):
        return "effort_above"
    return "topped" if len(known) == len(at_load) else "effort_unknown"


def range_top(target: SlotTarget, policy: LoadAdvicePolicy) -> int:
    """Give the repetitions at which the load is to go up: the top of the range, or over the number to the limit."""
    if target.to_limit:
        return (target.reps_low or 0) + policy.to_limit_extra_reps
    return target.reps_high or target.reps_low or 0


def _leading(sets: Sequence[PerformedSet], target: SlotTarget | None) -> Sequence[PerformedSet]:
    """Take the leading sets: by number, or all of an app that logs and counts no warm-ups."""
    if target is None or (target.alone and len({own.set_number for own in sets}) <= target.sets):
        return sets
    return [own for own in sets if own.set_number in target.set_numbers]


def _by_number(sets: Iterable[PerformedSet]) -> list[list[PerformedSet]]:
    groups: dict[int, list[PerformedSet]] = {}
    for own in sets:
        groups.setdefault(own.set_number, []).append(own)
    return [groups[number] for number in sorted(groups)]


def _weaker_side(group: Sequence[PerformedSet], *, to_limit: bool) -> _Numbered:
    loads = [own.load for own in group if own.load is not None]
    reserves = [Decimal(0) if own.reserve is None and to_limit else own.reserve for own in group]
    known = [reserve for reserve in reserves if reserve is not None]
    sides = {own.side for own in group}
    return _Numbered(
        reps=min(own.reps or 0 for own in group),
        load=min(loads, default=None),
        converted=any(own.converted for own in group),
        reserve=min(known) if len(known) == len(reserves) else None,
        failed=any(own.outcome == "failed" for own in group),
        complete="both" in sides or sides == {"left", "right"},
    )


def _same(one: Decimal, other: Decimal) -> bool:
    return one == other or abs(one - other) <= SAME_LOAD * abs(other)


def _reserve_over(at_load: Sequence[_Numbered], target: SlotTarget) -> Fraction | None:
    known = [own.reserve for own in at_load if own.reserve is not None]
    if target.reserve is None or not known or len(known) < len(at_load):
        return None
    return Fraction(sum(known) - target.reserve * len(known)) / len(known)


def running(outcomes: Sequence[LiftOutcome], *verdicts: Verdict, heavier: bool = False) -> int:
    """Count the latest outcomes running that have one of the verdicts, at the latest one's load.

    Args:
        outcomes: newest first.
        verdicts: those counted.
        heavier: whether earlier ones at a heavier load count too; else those at a lighter one do.

    Source: practice.
    """
    count = 0
    for one in outcomes:
        if one.verdict not in verdicts or not _counts(one, outcomes[0], heavier=heavier):
            return count
        count += 1
    return count


def _counts(one: LiftOutcome, latest: LiftOutcome, *, heavier: bool) -> bool:
    if one.load is None or latest.load is None:
        return False
    beyond = one.load > latest.load if heavier else one.load < latest.load
    return beyond or _same(one.load, latest.load)
