"""Loads after a gap in training, on the way back from one, and of a lift that was left out. Bounds are practice."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from logs.analysis.load_advice_facts import AdvisedSlot
from logs.analysis.load_advice_first_loads import by_estimate
from logs.analysis.load_advice_outcomes import LiftOutcome
from logs.analysis.load_advice_results import AdviceGround, LoadAdvice, Reason
from logs.analysis.load_advice_returns import RETURN_SOURCE, Ramp
from logs.analysis.load_advice_steps import lighter, lightest, loadable_below, same_load
from logs.analysis.load_advice_words import load_words, outcome_words


def start_as_new(ground: AdviceGround) -> LoadAdvice | None:
    """Let a client start as new, without a load; None where the gap does not ask for it."""
    if ground.returns.kind != "start_as_new":
        return None
    return LoadAdvice(
        action="start",
        reason="start_as_new",
        sentence=f"{ground.returns.sentence} Find the load by effort.",
        method="return_rule",
        source=RETURN_SOURCE,
    )


def after_gap(ground: AdviceGround) -> LoadAdvice | None:
    """Take the gap's share off the load last lifted, or off what is prescribed; None without a gap."""
    if ground.returns.kind not in ("short_gap", "long_gap"):
        return None
    left = _cut_now(ground)
    if ground.target.kind == "percent" or not ground.same_asked:
        return cut_plan(ground) or _cut_estimate(ground, left)
    return _cut(ground, ground.same_asked[0], left, ground.returns.sentence)


def back_after_gap(ground: AdviceGround) -> LoadAdvice | None:
    """Raise the load evenly towards what was lifted before a gap, until that is reached or missed.

    What a percentage or a program gives, and estimates from before the gap, are cut by what is still off.
    """
    ramp = ground.returns.ramp
    if ramp is None:
        return None
    if ground.target.kind == "percent" or not ground.same_asked:
        return cut_plan(ground) or _estimate_on_the_way(ground, ramp)
    last = ground.same_asked[0]
    if last.local_date <= ramp.before:
        return _cut(ground, last, _cut_now(ground), ground.returns.sentence)
    before = next((one for one in ground.same_asked if one.local_date <= ramp.before), None)
    if before is None or before.load is None or last.load is None or last.missed or ground.slot.grid.base is None:
        return None
    if last.load >= before.load:
        return None
    base = Fraction(ground.slot.grid.base)
    ceiling = (Fraction(before.load) + base) * (1 - _cut_now(ground)) - base
    most = Fraction(last.load) + (Fraction(last.load) + base) * Fraction(ground.policy.most_rise)
    return _raised(ground, last, before, loadable_below(ground.slot, min(ceiling, most)))


def _cut_now(ground: AdviceGround) -> Fraction:
    """Give the share that is off now; 0 without a gap or a way back."""
    if ground.returns.ramp is not None:
        return ground.returns.ramp.cut_left(ground.slot.day)
    return Fraction(ground.returns.load_cut or 0)


def _reason(ground: AdviceGround) -> Reason:
    return "after_gap" if ground.returns.ramp is None else "back_after_gap"


def _estimate_on_the_way(ground: AdviceGround, ramp: Ramp) -> LoadAdvice | None:
    """Cut an estimate that rests on anything from before the gap."""
    if not any(one.local_date <= ramp.before for one in by_estimate(ground).inputs):
        return None
    return _cut_estimate(ground, _cut_now(ground))


def _cut_estimate(ground: AdviceGround, cut: Fraction) -> LoadAdvice:
    """Take the gap's share off a first load, for repetitions that were not done yet."""
    first = by_estimate(ground)
    found = None if first.load is None else lighter(ground.slot, first.load, cut)
    if found is None:
        return replace(first, load=None, sentence=f"{first.sentence} {ground.returns.sentence}")
    return replace(
        first,
        action="down",
        reason=_reason(ground),
        load=found,
        method="return_rule",
        sentence=f"{load_words(ground.slot, found)}: {ground.returns.sentence} Without the gap: {first.sentence}",
        source=RETURN_SOURCE,
    )


def cut_plan(ground: AdviceGround) -> LoadAdvice | None:
    """Take the gap's share off the load that is prescribed; None without either."""
    slot, resolved, cut = ground.slot, ground.target.resolved, _cut_now(ground)
    if resolved is None or not cut:
        return None
    found = _lighter_or_lightest(slot, resolved, cut)
    said = f"{_said(slot, resolved, found)} {ground.returns.sentence}"
    return LoadAdvice(
        action="same" if found == resolved else "down",
        reason=_reason(ground),
        sentence=f"{said} {load_words(slot, resolved)} is prescribed.",
        load=found,
        last=None if ground.last is None else ground.last.load,
        method="return_rule",
        source=RETURN_SOURCE,
        inputs=ground.outcomes[:1],
    )


def _lighter_or_lightest(slot: AdvisedSlot, before: Decimal, cut: Fraction) -> Decimal | None:
    """Take a share off; None where nobody can say how much that is."""
    if slot.grid.base is None and before != 0:
        return None
    found = None if slot.grid.base is None else lighter(slot, before, cut)
    least = lightest(slot)
    return found if found is not None else before if least is None else min(before, least)


def _said(slot: AdvisedSlot, before: Decimal, found: Decimal | None) -> str:
    if found is None:
        return "The load is on top of a bodyweight that is not known: choose a lighter one yourself."
    if found == before:
        return f"Nothing lighter can be loaded than {load_words(slot, found)}: choose an easier variant."
    return f"{load_words(slot, found)}:"


def _cut(ground: AdviceGround, last: LiftOutcome, cut: Fraction, why: str) -> LoadAdvice:
    slot = ground.slot
    load = None if last.load is None else _lighter_or_lightest(slot, last.load, cut)
    said = _said(slot, last.load or Decimal(0), load)
    if ground.target.kind == "absolute" and ground.target.resolved is not None and load is not None:
        load = min(load, loadable_below(slot, ground.target.resolved) or load)
        said = _said(slot, last.load or Decimal(0), load)
    down = load is not None and last.load is not None and load < last.load
    return LoadAdvice(
        action="down" if down else "ask" if load is None else "same",
        reason=_reason(ground),
        sentence=f"{said} {why} Last {outcome_words(slot, last)}.",
        load=load,
        last=last.load,
        method="return_rule",
        source=RETURN_SOURCE,
        inputs=(last,),
    )


def _raised(ground: AdviceGround, last: LiftOutcome, before: LiftOutcome, found: Decimal | None) -> LoadAdvice:
    kept = same_load(ground.slot, last)
    up = found is not None and last.load is not None and found > last.load
    load = found if up else kept
    said = "The same" if load is None else load_words(ground.slot, load)
    return LoadAdvice(
        action="up" if up else "same",
        reason="back_after_gap",
        sentence=f"{said}, on the way back to {outcome_words(ground.slot, before)}.",
        load=load,
        last=last.load,
        method="return_rule",
        source=RETURN_SOURCE,
        inputs=(last, before),
    )


def not_lifted_lately(ground: AdviceGround) -> LoadAdvice | None:
    """Hold a lift that was left out while training went on; None where it was not."""
    last = ground.last
    if last is None or ground.target.kind == "percent":
        return None
    days = (ground.slot.day - last.local_date).days
    too_long = (ground.slot.day - ground.outcomes[0].local_date).days > ground.policy.unlifted_start_days
    if days <= ground.policy.unlifted_hold_days or not (ground.same_asked or too_long):
        return None
    said = f"Last done {days} days before, {outcome_words(ground.slot, last)}"
    if days > ground.policy.unlifted_start_days:
        return LoadAdvice(
            action="start",
            reason="not_lifted_lately",
            sentence=f"{said}: too long ago to go by; find the load by effort.",
            method="return_rule",
            inputs=(last,),
        )
    return LoadAdvice(
        action="hold",
        reason="not_lifted_lately",
        sentence=f"{said}, while training went on: that load again, and no more.",
        load=same_load(ground.slot, last),
        last=last.load,
        method="return_rule",
        inputs=(last,),
    )
