"""The moves of a load: the same again, a step up, a share down, each as it can be loaded and with its reason."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from logs.analysis.load_advice_estimates import load_for, repetitions_needed, shown_estimate
from logs.analysis.load_advice_facts import AdvisedSlot
from logs.analysis.load_advice_outcomes import LiftOutcome
from logs.analysis.load_advice_results import AdviceGround, LoadAdvice, Method, Reason
from logs.analysis.load_advice_steps import lighter, next_load_up, rise, same_load
from logs.analysis.load_advice_words import fall_words, load_words, outcome_words, rise_words
from logs.analysis.references import FORMULAS, PRACTICE

_STEP_SOURCE: Final = (
    f"{PRACTICE} (least rise 1 %, sessions running); most rise 10 %: ACSM 2009 Med Sci Sports Exerc 41:687-708"
)
"""Where the rule of steps comes from. Source: ACSM 2009, abstract read; the rest is practice."""

_FURTHER: Final = "more repetitions than an estimate reaches would be needed: find smaller steps, or add sets or tempo"
"""What is said of a step that no estimate within bounds allows. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """Why a load moves: the reason, the words, the method, and the outcomes used, the newest first."""

    reason: Reason
    words: str
    method: Method = "double_progression"
    used: tuple[LiftOutcome, ...] = ()


def stay(
    ground: AdviceGround,
    last: LiftOutcome,
    reason: Reason,
    words: str,
    *,
    method: Method = "double_progression",
    ask: str = "",
) -> LoadAdvice:
    """Advise the load last lifted, as it can be loaded."""
    kept = same_load(ground.slot, last)
    said = "" if kept is None else f"Stay at {load_words(ground.slot, kept)}. "
    return LoadAdvice(
        action="ask" if ask else "same",
        reason=reason,
        sentence=f"{said}{words}",
        load=kept,
        last=last.load,
        method=method,
        inputs=(last,),
        missing=(ask,) if ask else (),
    )


def step_down(ground: AdviceGround, last: LiftOutcome, move: Move) -> LoadAdvice:
    """Advise a share less, rounded down; to hold where nothing lighter can be loaded."""
    if ground.slot.grid.base is None:
        return bodyweight_unknown(ground.slot, last)
    found = None if last.load is None else lighter(ground.slot, last.load, ground.policy.miss_cut)
    if found is None:
        held = stay(
            ground, last, "nothing_lighter", f"{move.words}. Nothing lighter can be loaded: choose an easier variant."
        )
        return LoadAdvice(
            action="hold",
            reason="nothing_lighter",
            sentence=held.sentence,
            load=held.load,
            last=last.load,
            method=move.method,
            inputs=move.used,
        )
    fell = fall_words(ground.slot, rise(ground.slot, last.load or Decimal(0), found))
    return LoadAdvice(
        action="down",
        reason=move.reason,
        sentence=f"{'Back' if found < 0 else 'Down'} to {load_words(ground.slot, found)}{fell}: {move.words}.",
        load=found,
        last=last.load,
        method=move.method,
        inputs=move.used,
    )


def step_up(ground: AdviceGround, last: LiftOutcome, move: Move) -> LoadAdvice:
    """Advise the next step up; where it is a big one, repetitions first until the estimate there is enough."""
    slot, policy = ground.slot, ground.policy
    if slot.grid.base is None:
        return bodyweight_unknown(ground.slot, last)
    found = None if last.load is None else next_load_up(slot, last.load, policy)
    if found is None or last.load is None:
        return stay(ground, last, "not_by_load", f"{move.words}. It is not loaded in steps; make it harder otherwise.")
    risen = rise(slot, last.load, found)
    if risen is None or risen > Fraction(policy.most_rise):
        return _big_step(ground, last, move, found)
    return LoadAdvice(
        action="up",
        reason=move.reason,
        sentence=f"{_up_to(slot, found)}{rise_words(slot, risen)}{_helped(slot, found)}: {move.words}.",
        load=found,
        last=last.load,
        method=move.method,
        source=_STEP_SOURCE,
        inputs=move.used,
    )


def _big_step(ground: AdviceGround, last: LiftOutcome, move: Move, found: Decimal) -> LoadAdvice:
    slot, policy, base = ground.slot, ground.policy, ground.slot.grid.base or Decimal(0)
    low = ground.target.reps_low or 1
    reserve = ground.target.reserve if ground.target.reserve is not None else min(_known(last), default=None)
    now, then = (last.load or Decimal(0)) + base, found + base
    risen = rise(slot, last.load or Decimal(0), found)
    more = f"{rise_words(slot, risen)}{_helped(slot, found)}"
    if reserve is None:
        words = f"The next load is {load_words(slot, found)}{more}; log the effort to know when it is time."
        return stay(ground, last, "effort_unknown", words, method=move.method, ask="effort")
    estimate = shown_estimate(last, base, policy.formula)
    enough = load_for(estimate, low, reserve, base, policy.formula) if estimate is not None else None
    if enough is not None and enough >= found:
        return LoadAdvice(
            action="up",
            reason="big_step_reached",
            sentence=f"{_up_to(slot, found)}{more}: {outcome_words(slot, last)} is enough for {low} there, "
            f"by the estimate of {policy.formula}.",
            load=found,
            last=last.load,
            method=move.method,
            source=f"{_STEP_SOURCE}; {FORMULAS}",
            inputs=move.used,
        )
    needed = None if now <= 0 else repetitions_needed(
        at=now, for_load=then, for_reps=low, reserve=reserve, formula=policy.formula
    )  # fmt: skip
    first = f"at {load_words(slot, last.load or Decimal(0))} do {needed} before" if needed is not None else _FURTHER
    kept = same_load(slot, last)
    return LoadAdvice(
        action="hold",
        reason="step_too_big",
        sentence=f"Add repetitions first: the next load is {load_words(slot, found)}{more}; {first}.",
        load=kept,
        last=last.load,
        method=move.method,
        source=f"{_STEP_SOURCE}; {FORMULAS}",
        inputs=move.used,
        repetitions_first=needed,
    )


def _up_to(slot: AdvisedSlot, found: Decimal) -> str:
    """Less help is a step up."""
    return f"{'On' if found < 0 else 'Up'} to {load_words(slot, found)}"


def _helped(slot: AdvisedSlot, found: Decimal) -> str:
    return " to move" if found < 0 and not slot.grid.base_hidden else ""


def _known(outcome: LiftOutcome) -> list[Decimal]:
    return [reserve for reserve in outcome.reserves if reserve is not None]


def bodyweight_unknown(slot: AdvisedSlot, last: LiftOutcome) -> LoadAdvice:
    """Ask for a weigh-in, without which no share of the load moved is known; never where care hides weight."""
    said = (
        "The load is on top of bodyweight, which care keeps out of this: choose the step yourself."
        if slot.grid.base_hidden
        else "The load is on top of bodyweight, and no weigh-in of the last 28 days is known: log one, or choose the "
        "step yourself."
    )
    return LoadAdvice(
        action="ask",
        reason="bodyweight_unknown",
        sentence=said,
        load=last.load,
        last=last.load,
        inputs=(last,),
        missing=() if slot.grid.base_hidden else ("bodyweight",),
    )
