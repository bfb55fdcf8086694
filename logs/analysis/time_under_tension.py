"""Whether the time under tension that was meant was reached: seconds performed against seconds asked."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from logs.analysis.constants import TENSION_REACHED_RATIO
from logs.analysis.performed_tempo import PerformedSet, TempoJudgement
from logs.analysis.rounding import round_half_even_6

MeantFrom = Literal["planned_repetitions", "done_repetitions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetTension:
    """One set's time under tension, meant and performed.

    Attributes:
        meant_s: Repetitions times the tempo asked, X and A as 1 s.
        meant_least_s: The same with X and A as no time: the lower bound.
        meant_from: Whether the repetitions are the fewest planned, or those done because no plan says how many.
        performed_s: From measured phases, else the set's duration.
    """

    meant_s: Decimal
    meant_least_s: Decimal
    meant_from: MeantFrom
    performed_s: Decimal

    @property
    def reached(self) -> bool:
        """Whether at least nine tenths of the lower bound were performed."""
        return self.performed_s >= TENSION_REACHED_RATIO * self.meant_least_s


@dataclass(frozen=True, slots=True, kw_only=True)
class TensionTotal:
    """Sets of which both are known, summed.

    Attributes:
        sets: How many sets are in it.
        reached_sets: How many reached what was meant.
        meant_s: Seconds meant.
        performed_s: Seconds performed.
        performed_ratio: Performed over meant, to six places; None without sets.
        reached: Whether the sum did; None without sets.
    """

    sets: int
    reached_sets: int
    meant_s: Decimal
    performed_s: Decimal
    performed_ratio: Decimal | None
    reached: bool | None


def set_tension(performed: PerformedSet, judgement: TempoJudgement, reps_planned: int | None) -> SetTension | None:
    """Hold a set's seconds against those meant.

    Args:
        performed: The set.
        judgement: What is known of its tempo.
        reps_planned: The fewest repetitions that the plan asks for; None when no plan says.

    Returns:
        Both, or None where the tempo, the repetitions or the seconds performed are not known.

    Source: time under tension as repetitions times the four phases; the bound of "reached" is practice.
    """
    tempo, performed_s = performed.tempo, _performed_s(performed, judgement)
    reps = performed.reps if reps_planned is None else reps_planned
    if tempo is None or performed_s is None or not reps or not tempo.repetition_s():
        return None
    return SetTension(
        meant_s=Decimal(reps * tempo.repetition_s()),
        meant_least_s=Decimal(reps * tempo.repetition_s(explosive_s=0)),
        meant_from="done_repetitions" if reps_planned is None else "planned_repetitions",
        performed_s=performed_s,
    )


def tension_total(tensions: Iterable[SetTension | None]) -> TensionTotal:
    """Sum the sets of which both are known.

    Args:
        tensions: As of `set_tension`; None is left out.

    Source: practice.
    """
    known = [one for one in tensions if one is not None]
    meant_s = sum((one.meant_s for one in known), Decimal(0))
    least_s = sum((one.meant_least_s for one in known), Decimal(0))
    performed_s = sum((one.performed_s for one in known), Decimal(0))
    return TensionTotal(
        sets=len(known),
        reached_sets=sum(one.reached for one in known),
        meant_s=meant_s,
        performed_s=performed_s,
        performed_ratio=round_half_even_6(Fraction(performed_s) / Fraction(meant_s)) if meant_s else None,
        reached=performed_s >= TENSION_REACHED_RATIO * least_s if known else None,
    )


def _performed_s(performed: PerformedSet, judgement: TempoJudgement) -> Decimal | None:
    if judgement.basis == "none":
        return None
    if judgement.basis == "phases" and judgement.performed_repetition_s is not None:
        return None if performed.reps is None else judgement.performed_repetition_s * performed.reps
    return None if performed.both_sides or performed.rests_inside else performed.duration_s
