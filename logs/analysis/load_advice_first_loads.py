"""First loads for repetitions that a client has not done yet."""

from fractions import Fraction

from logs.analysis.load_advice_estimates import load_for, median_estimate
from logs.analysis.load_advice_moves import bodyweight_unknown
from logs.analysis.load_advice_results import AdviceGround, LoadAdvice
from logs.analysis.load_advice_steps import loadable_below
from logs.analysis.load_advice_words import effort_words, load_words, outcome_words, outcomes_words, pct, range_words
from logs.analysis.references import FORMULAS


def by_estimate(ground: AdviceGround) -> LoadAdvice:
    """Advise a first load for repetitions that were not done yet, from estimates at others.

    Args:
        ground: what the advice stands on; it has an outcome with a load.

    Source: the formulas as in `strength.FORMULAS`; that it is held to a tenth over the last load is practice.
    """
    last, policy, base = ground.outcomes[0], ground.policy, ground.slot.grid.base
    asked = range_words(ground.target) + effort_words(ground.target.reserve)
    if base is None:
        return bodyweight_unknown(ground.slot, last)
    low, high = ground.target.reps_low or 0, ground.target.reps_high or 0
    estimate, used = median_estimate(ground.outcomes, base, policy.formula, policy.estimate_sessions)
    wanted = (
        None
        if estimate is None or ground.target.reserve is None
        else load_for(estimate, (low + high + 1) // 2, ground.target.reserve, base, policy.formula)
    )
    most = Fraction(last.load or 0) + Fraction((last.load or 0) + base) * Fraction(policy.most_rise)
    found = None if wanted is None else loadable_below(ground.slot, min(wanted, most))
    if found is None:
        why = (
            "no effort is asked by which a load could be reckoned"
            if ground.target.reserve is None
            else f"no estimate can be made of {outcome_words(ground.slot, last)}"
        )
        return LoadAdvice(
            action="ask",
            reason="no_estimate",
            sentence=f"{asked} was not done lately, and {why}: find the load by effort, and log the effort.",
            last=last.load,
            method="estimate",
            inputs=(last,),
            missing=("effort",),
        )
    return LoadAdvice(
        action="start",
        reason="from_estimate",
        sentence=f"{load_words(ground.slot, found)} for {asked}, which was not done lately: from the estimate by "
        f"{policy.formula} of {outcomes_words(ground.slot, used)}, no more than {pct(policy.most_rise)} over the last.",
        load=found,
        last=last.load,
        method="estimate",
        source=FORMULAS,
        inputs=used,
    )
