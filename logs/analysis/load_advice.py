"""Load advice for a slot of the session to come: one rule after another until one speaks, with a sentence.

First what forbids or sets aside (stops, deloads, nothing comparable), then gaps, then the progression of the slot's
own kind. Whatever a rule says, nothing goes up while the exercise is held for pain.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from decimal import Decimal
from itertools import groupby
from typing import Final

from logs.analysis.load_advice_facts import AdvisedSlot, LoadAdvicePolicy, SlotTarget
from logs.analysis.load_advice_first_loads import by_estimate
from logs.analysis.load_advice_gaps import after_gap, back_after_gap, cut_plan, not_lifted_lately, start_as_new
from logs.analysis.load_advice_outcomes import LiftOutcome, comparable_outcomes
from logs.analysis.load_advice_percents import percent_target
from logs.analysis.load_advice_progressions import double_progression, effort_target
from logs.analysis.load_advice_results import AdviceGround, LoadAdvice, without_rise
from logs.analysis.load_advice_returns import ReturnRule
from logs.analysis.load_advice_steps import same_load, step_of
from logs.analysis.load_advice_words import effort_words, load_words, outcome_words, range_words
from programs.prescription.loads import SUGGESTED_TEST

Rule = Callable[[AdviceGround], LoadAdvice | None]


def load_advice(slot: AdvisedSlot, returns: ReturnRule, policy: LoadAdvicePolicy | None = None) -> LoadAdvice:
    """Advise a load for a slot.

    Args:
        slot: the slot, its client's holds, and what was done of its exercise.
        returns: what the gap before the session asks.
        policy: the changeable bounds.

    Returns:
        The advice. Its load can be loaded where the session is done, or was loaded there before; except for a big step
        that an estimate allows, and what a program or percentage prescribes, it is at most a tenth over the last load.

    Source: practice, after ACSM 2009; gaps on the grounds of the CSCCa/NSCA 2019 consensus.
    """
    policy = policy or LoadAdvicePolicy()
    stopped = _stopped(slot)
    if stopped is not None:
        return stopped
    held = next((hold.detail for hold in slot.holds if hold.code == "no_increase"), None)
    if slot.target is None:
        return _not_by_load(None, returns, held)
    ground = _ground(slot, slot.target, returns, policy)
    by_load = _by_load(slot, slot.target)
    advice = next(found for rule in _RULES if (found := rule(ground)) is not None) if by_load else _as_planned(ground)
    if held is None:
        return advice
    kept = None if ground.last is None else same_load(slot, ground.last)
    return without_rise(advice, ground, kept, held.rstrip("."))


def _ground(slot: AdvisedSlot, target: SlotTarget, returns: ReturnRule, policy: LoadAdvicePolicy) -> AdviceGround:
    found = comparable_outcomes(slot, policy, returns.fresh_since)
    loaded = tuple(one for one in found if one.load is not None)
    alike = tuple(_same_asked(slot, target, loaded))
    since = slot.day - timedelta(days=policy.unlifted_hold_days)
    if target.kind == "by_effort" and alike and alike[0].local_date < since <= loaded[0].local_date:
        # What was lifted since, by an estimate, says more than the same effort a month ago.
        alike = ()
    return AdviceGround(
        slot=slot,
        target=target,
        returns=returns,
        policy=policy,
        outcomes=loaded,
        same_asked=alike,
        unloaded=found[0] if found and found[0].load is None else None,
    )


def _stopped(slot: AdvisedSlot) -> LoadAdvice | None:
    for hold in slot.holds:
        if hold.code == "training_held":
            return LoadAdvice(action="hold", reason="training_stopped", sentence=hold.detail, method="pain_hold")
    for hold in slot.holds:
        if hold.code == "movement_held":
            return LoadAdvice(action="hold", reason="movement_stopped", sentence=hold.detail, method="pain_hold")
    return None


def _same_asked(slot: AdvisedSlot, target: SlotTarget, loaded: Sequence[LiftOutcome]) -> Iterator[LiftOutcome]:
    """Take what was asked alike: the same repetitions; without a written load at the same effort, too.

    Of a session with the lift in several slots only its own slot counts, else the heaviest.
    """
    alike = [
        one
        for one in loaded
        if one.target
        and one.target.range_asked == target.range_asked
        and (
            target.kind != "by_effort"
            or one.target.kind != "by_effort"
            or one.target.effort_alike == target.effort_alike
        )
    ]
    for _session, found in groupby(alike, key=lambda one: one.session):
        yield max(found, key=lambda one: (one.slot_key == slot.slot_key, one.load or Decimal(0)))


def _by_load(slot: AdvisedSlot, target: SlotTarget) -> bool:
    return target.reps_low is not None and step_of(slot) is not None


def _as_planned(ground: AdviceGround) -> LoadAdvice:
    """Leave a slot that does not go by repetitions at a load as it is, but for a gap."""
    gap = start_as_new(ground) or cut_plan(ground) if ground.target.resolved and step_of(ground.slot) else None
    return gap or _not_by_load(ground.target, ground.returns)


def _not_by_load(target: SlotTarget | None, returns: ReturnRule, held: str | None = None) -> LoadAdvice:
    said = (
        "Its load hangs on another set, it is done in rounds, or it can't be loaded in steps: as prescribed."
        if target is None or target.reps_low is not None
        else "It does not go by repetitions at a load: as prescribed."
    )
    return LoadAdvice(
        action="same" if held is None else "hold",
        reason="not_by_load",
        sentence=" ".join(filter(None, (said, returns.sentence, held))),
        load=None if target is None else target.resolved,
        method="as_prescribed",
    )


def _deload(ground: AdviceGround) -> LoadAdvice | None:
    if not ground.slot.deload or ground.returns.kind in ("short_gap", "long_gap"):
        return None
    return cut_plan(ground) or LoadAdvice(
        action="same",
        reason="deload",
        sentence="A deload: as prescribed, and nothing goes up from it.",
        load=ground.target.resolved,
        method="as_prescribed",
        inputs=ground.outcomes[:1],
    )


def _needs_reference(ground: AdviceGround) -> LoadAdvice | None:
    if ground.target.kind != "percent" or ground.target.resolved is not None:
        return None
    suggested, no_test = ground.target.suggestion, ground.slot.no_test
    return LoadAdvice(
        action="ask",
        reason="needs_reference",
        sentence=ground.target.from_what,
        method="percent_target",
        missing=("reference",),
        suggestion=f"Prescribe by effort (RPE). {no_test}" if no_test and suggested == SUGGESTED_TEST else suggested,
    )


def _nothing_comparable(ground: AdviceGround) -> LoadAdvice | None:
    if ground.outcomes:
        return None
    target, slot = ground.target, ground.slot
    if ground.unloaded is not None:
        return LoadAdvice(
            action="ask",
            reason="load_unknown",
            sentence=f"No load was logged with {outcome_words(slot, ground.unloaded)}: log it.",
            load=target.resolved,
            inputs=(ground.unloaded,),
            missing=("load",),
        )
    if target.resolved is not None:
        # What the plan says is cut after a gap all the same.
        return cut_plan(ground) or LoadAdvice(
            action="same",
            reason="nothing_comparable",
            sentence=f"{load_words(slot, target.resolved)} as prescribed: nothing comparable was logged yet.",
            load=target.resolved,
            method="as_prescribed",
        )
    asked = range_words(target) + effort_words(target.reserve)
    return LoadAdvice(
        action="start",
        reason="nothing_comparable",
        sentence=f"Nothing comparable was logged yet: find the load for {asked} by effort.",
        method="as_prescribed",
    )


def _progression(ground: AdviceGround) -> LoadAdvice:
    target = ground.target
    if target.kind == "percent":
        return percent_target(ground)
    if not ground.same_asked:
        return _other_repetitions(ground)
    fixed = target.reps_low == target.reps_high and not target.to_limit
    if fixed and target.reserve is not None:
        return effort_target(ground, ground.same_asked[0])
    return double_progression(ground, ground.same_asked[0])


def _other_repetitions(ground: AdviceGround) -> LoadAdvice:
    resolved = ground.target.resolved
    if ground.target.kind == "by_effort" or resolved is None:
        return by_estimate(ground)
    said = f"{load_words(ground.slot, resolved)} as prescribed: {range_words(ground.target)} was not done yet."
    return LoadAdvice(
        action="same",
        reason="nothing_comparable",
        sentence=said,
        load=resolved,
        last=ground.outcomes[0].load,
        method="as_prescribed",
        inputs=ground.outcomes[:1],
    )


_RULES: Final[tuple[Rule, ...]] = (
    start_as_new,
    _deload,
    _needs_reference,
    _nothing_comparable,
    after_gap,
    back_after_gap,
    not_lifted_lately,
    _progression,
)
"""The rules, in the order in which they are asked. Practice."""
