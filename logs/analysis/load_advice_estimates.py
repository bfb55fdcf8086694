"""What estimated maxima say about a load: repetitions at the next one, and a load for the repetitions asked."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Final

from logs.analysis.constants import LINE_IN_RESERVE, MAX_REPETITIONS_TO_FAILURE
from logs.analysis.load_advice_outcomes import LiftOutcome
from logs.analysis.strength import Formula, estimated_maximum, weekly_value

_UNIT_LOAD: Final = Decimal(1000)
"""A load of which the formulas are asked for their factor; they are linear in it. Practice."""

_GRAM_PLACES: Final = 3
"""Places to which a load out of an estimate is rounded. Practice."""


def best_estimate(outcome: LiftOutcome, base: Decimal, formula: Formula) -> Decimal | None:
    """Give the best estimated maximum of an outcome's sets, of the load moved, bodyweight included.

    Args:
        outcome: the outcome.
        base: bodyweight moved beside the load, in the same unit.
        formula: the formula.

    Returns:
        The estimate, of low confidence too; None without a load, with unknown effort or over the formulas' bounds.

    Source: the formulas as in `strength.FORMULAS`.
    """
    if outcome.load is None or outcome.load + base <= 0:
        return None
    sets = zip(outcome.reps, outcome.reserves, strict=True)
    found = (estimated_maximum(outcome.load + base, reps, reserve, formula).value_kg for reps, reserve in sets)
    return max((value for value in found if value is not None), default=None)


def shown_estimate(outcome: LiftOutcome, base: Decimal, formula: Formula) -> Decimal | None:
    """Give the maximum that an outcome shows at the least.

    What lies over the formulas' bounds shows at least as much as their last repetition and reserve, so that more
    repetitions, or more left in reserve, never show less.

    Args:
        outcome: the outcome.
        base: bodyweight moved beside the load, in the same unit.
        formula: the formula.

    Source: the formulas as in `strength.FORMULAS`; reading it as a lower bound is practice.
    """
    reserves = tuple(
        None if reserve is None else min(reserve, Decimal(LINE_IN_RESERVE)) for reserve in outcome.reserves
    )
    reps = tuple(
        count if reserve is None else min(count, int(MAX_REPETITIONS_TO_FAILURE - reserve))
        for count, reserve in zip(outcome.reps, reserves, strict=True)
    )
    return best_estimate(replace(outcome, reps=reps, reserves=reserves), base, formula)


def median_estimate(
    outcomes: Iterable[LiftOutcome], base: Decimal, formula: Formula, sessions: int
) -> tuple[Decimal | None, tuple[LiftOutcome, ...]]:
    """Give the median of the latest sessions' best estimates, and the outcomes that it was taken of.

    Args:
        outcomes: newest first.
        base: bodyweight moved beside the load.
        formula: the formula.
        sessions: how many of the latest that have an estimate.
    """
    found = [(best, one) for one in outcomes if (best := best_estimate(one, base, formula)) is not None][:sessions]
    return weekly_value(best for best, _ in found), tuple(one for _, one in found)


def load_for(estimate: Decimal, reps: int, reserve: Decimal, base: Decimal, formula: Formula) -> Fraction | None:
    """Give the load at which a maximum allows so many repetitions with so many in reserve.

    Args:
        estimate: the estimated maximum, of the load moved.
        reps: repetitions.
        reserve: repetitions in reserve.
        base: bodyweight moved beside the load, which is taken off again.
        formula: the formula that the estimate was made by.

    Returns:
        The load, to a gram: an estimate has been rounded; None over the formulas' bounds.

    Source: the formulas as in `strength.FORMULAS`, solved for the load.
    """
    factor = estimated_maximum(_UNIT_LOAD, reps, reserve, formula).value_kg
    if factor is None:
        return None
    return round(Fraction(estimate) * Fraction(_UNIT_LOAD) / Fraction(factor) - Fraction(base), _GRAM_PLACES)


def repetitions_needed(
    *, at: Decimal, for_load: Decimal, for_reps: int, reserve: Decimal, formula: Formula
) -> int | None:
    """Give the repetitions at one load that show so many at a heavier one, with as many in reserve.

    Args:
        at: the load moved now.
        for_load: the load to be moved.
        for_reps: repetitions wanted there.
        reserve: repetitions in reserve at both.
        formula: the formula.

    Returns:
        The fewest; None where no number within the formulas' bounds shows it.

    Source: the formulas as in `strength.FORMULAS`.
    """
    wanted = estimated_maximum(for_load, for_reps, reserve, formula).value_kg
    if wanted is None:
        return None
    for reps in range(for_reps, MAX_REPETITIONS_TO_FAILURE + 1):
        shown = estimated_maximum(at, reps, reserve, formula).value_kg
        if shown is not None and shown >= wanted:
            return reps
    return None
