"""Loads after a gap in training, on the way back from one, and of a lift that was left out. Bounds are practice."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from logs.analysis.load_advice_first_loads import by_estimate
from logs.analysis.load_advice_outcomes import LiftOutcome
from logs.analysis.load_advice_results import AdviceGround, LoadAdvice
from logs.analysis.load_advice_returns import RETURN_SOURCE
from logs.analysis.load_advice_steps import lighter, loadable_below, same_load
from logs.analysis.load_advice_words import load_words, outcome_words, pct


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
    """Take the gap's share off the load last lifted, or off what a percentage gives; None without a gap."""
    if ground.returns.kind not in ("short_gap", "long_gap"):
        return None
    cut = ground.returns.load_cut
    if ground.target.kind == "percent" or cut is None:
        return cut_plan(ground)
    if not ground.same_asked:
        return cut_plan(ground) or _cut_estimate(ground, cut)
    return _cut(ground, ground.same_asked[0], Fraction(cut), ground.returns.sentence)


def _cut_estimate(ground: AdviceGround, cut: Decimal) -> LoadAdvice:
    """Take the gap's share off a first load, for repetitions that were not done yet."""
    first = by_estimate(ground)
    found = None if first.load is None else lighter(ground.slot, first.load, cut)
    if found is None:
        return first
    return replace(
        first,
        action="down",
        reason="after_gap",
        load=found,
        method="return_rule",
        sentence=f"{load_words(ground.slot, found)}: {ground.returns.sentence} Without the gap: {first.sentence}",
        source=RETURN_SOURCE,
    )


def cut_plan(ground: AdviceGround) -> LoadAdvice | None:
    """Take the gap's share off the load that is prescribed; None without either."""
    resolved, cut = ground.target.resolved, ground.returns.load_cut
    if resolved is None or not cut:
        return None
    found = lighter(ground.slot, resolved, cut) if ground.slot.grid.base is not None else None
    said = "the lightest there is" if found is None else load_words(ground.slot, found)
    return LoadAdvice(
        action="down",
        reason="after_gap",
        sentence=f"{said}: {ground.returns.sentence}",
        load=found,
        last=resolved,
        method="return_rule",
        source=RETURN_SOURCE,
        inputs=ground.outcomes[:1],
    )


def _cut(ground: AdviceGround, last: LiftOutcome, cut: Fraction, why: str) -> LoadAdvice:
    slot = ground.slot
    found = None if last.load is None or slot.grid.base is None else lighter(slot, last.load, cut)
    kept = same_load(slot, last)
    load = kept if found is None else found
    if ground.target.kind == "absolute" and ground.target.resolved is not None and load is not None:
        load = min(load, loadable_below(slot, ground.target.resolved) or load)
    down = load is not None and last.load is not None and load < last.load
    said = "Nothing lighter can be loaded" if load is None else load_words(slot, load)
    return LoadAdvice(
        action="down" if down else "same",
        reason="after_gap",
        sentence=f"{said}: {why} Last {outcome_words(slot, last)}.",
        load=load,
        last=last.load,
        method="return_rule",
        source=RETURN_SOURCE,
        inputs=(last,),
    )


def back_after_gap(ground: AdviceGround) -> LoadAdvice | None:
    """Raise the load evenly towards what was lifted before a gap, until that is reached or missed."""
    ramp = ground.returns.ramp
    if ramp is None or ground.target.kind == "percent" or ground.slot.grid.base is None:
        return None
    before = next((one for one in ground.same_asked if one.local_date <= ramp.before), None)
    if before is None or before.load is None:
        return None
    last = ground.same_asked[0]
    if last.load is None or last.missed:
        return None
    base = Fraction(ground.slot.grid.base)
    left = ramp.cut_left(ground.slot.day)
    ceiling = (Fraction(before.load) + base) * (1 - left) - base
    if last.local_date <= ramp.before:
        why = f"Back since {ramp.back_on}, {pct(left)} still off."
        return _cut(ground, last, left, why)
    if last.load >= before.load:
        return None
    most = Fraction(last.load) + (Fraction(last.load) + base) * Fraction(ground.policy.most_rise)
    return _raised(ground, last, before, loadable_below(ground.slot, min(ceiling, most)))


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
