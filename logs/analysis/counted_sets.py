"""What the sets of a week add up to: counts, muscles, repetitions and effort.

Warm-up, ramp and technique sets and skipped sets count in nothing. A set of each side with one number is one set;
its repetitions are those of both sides.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from logs.analysis.constants import HARD_IN_RESERVE, RPE_TOP, SECONDARY_SHARE
from logs.analysis.facts import SetFact
from logs.analysis.performed_sets import by_number, repetitions_of, reserve, sets_in
from logs.analysis.rounding import round_half_even_6


@dataclass(frozen=True, slots=True)
class SetCounts:
    """Sets, with both sides of one number as one."""

    work_sets: int
    hard_sets: int
    unknown_effort_sets: int


@dataclass(frozen=True, slots=True)
class MuscleSets:
    """Hard sets of a muscle: as primary only, with secondary as half, and with secondary as whole."""

    direct: Decimal
    fractional: Decimal
    total: Decimal


def set_counts(sets: Iterable[SetFact]) -> SetCounts:
    """Count work sets, hard sets and sets of unknown effort.

    Args:
        sets: Counted sets.

    Returns:
        The counts; where one side of a set was hard the set is hard, and unknown only if neither is.

    Source: practice.
    """
    groups = [_group_counts(group) for group in by_number(sets).values()]
    return SetCounts(*(sum(column) for column in zip(*groups, strict=True))) if groups else SetCounts(0, 0, 0)


def muscle_sets(sets: Iterable[SetFact]) -> dict[str, MuscleSets]:
    """Count hard sets per muscle, in the three published ways.

    Args:
        sets: Counted sets.

    Returns:
        Muscle to its counts, in the order of the alphabet; muscles without a hard set are left out.

    Source: Pelland et al. 2024, preprint (direct, fractional, total).
    """
    direct: defaultdict[str, int] = defaultdict(int)
    secondary: defaultdict[str, int] = defaultdict(int)
    for group in by_number(sets).values():
        _, hard, _ = _group_counts(group)
        exercise = group[0].exercise
        primary = frozenset(exercise.primary_muscles)
        for muscle in primary:
            direct[muscle] += hard
        for muscle in frozenset(exercise.secondary_muscles) - primary:
            secondary[muscle] += hard
    return {
        muscle: MuscleSets(
            direct=Decimal(direct[muscle]),
            fractional=direct[muscle] + SECONDARY_SHARE * secondary[muscle],
            total=Decimal(direct[muscle] + secondary[muscle]),
        )
        for muscle in sorted({*direct, *secondary})
        if direct[muscle] + secondary[muscle]
    }


def repetitions(sets: Iterable[SetFact]) -> int:
    """Sum the repetitions done, over sides and segments.

    Args:
        sets: Counted sets.

    Returns:
        Repetitions.

    Source: practice.
    """
    return sum(repetitions_of(one) or 0 for one in sets)


def mean_effort(sets: Iterable[SetFact]) -> Decimal | None:
    """Average the exertion that was entered.

    Args:
        sets: Counted sets.

    Returns:
        Mean of exertion, with repetitions in reserve read as 10 minus them, rounded half-even to six places; None
        when none was entered.

    Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275.
    """
    as_rpe = (RPE_TOP - one.in_reserve if one.in_reserve is not None else one.rpe for one in sets)
    entered = [Fraction(rpe) for rpe in as_rpe if rpe is not None]
    return round_half_even_6(sum(entered, Fraction(0)) / len(entered)) if entered else None


def _group_counts(group: list[SetFact]) -> tuple[int, int, int]:
    work = sets_in(group)
    known = [(one, left) for one in group if (left := reserve(one)) is not None]
    hard = sets_in(one for one, left in known if left <= HARD_IN_RESERVE)
    unknown = sets_in(one for one in group if reserve(one) is None)
    return work, hard, min(unknown, work - hard)
