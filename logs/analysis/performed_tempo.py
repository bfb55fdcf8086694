"""A set's tempo as performed, beside the tempo that was asked.

Only seconds that a device or video measured tell which phase was off. A set's duration tells less: shorter or longer
than meant, never where. Faults are judged on the eccentric and on pauses that were asked for; the concentric, slow or
fast, is never a fault: near failure it slows by itself. A set without a known tempo, or without a measure, is not
judged and is in nobody's way.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal

from logs.analysis.constants import TEMPO_TOLERANCE_RATIO, TEMPO_TOLERANCE_S
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import Phase, RestfulEnd

Basis = Literal["phases", "duration", "none"]
FaultKind = Literal["rushed_eccentric", "rushed_pause", "lingered_pause"]
Overall = Literal["shorter", "as_meant", "longer"]
Reason = Literal[
    "judged", "no_tempo", "not_measured", "nothing_to_judge", "no_repetitions", "both_sides_together", "rests_inside"
]

PHASES: Final[tuple[Phase, ...]] = ("eccentric", "lengthened", "concentric", "shortened")
"""The four phases, in the order in which a tempo is written. Source: notation as in Wilk et al. 2018 J Hum Kinet."""

FAULT_KINDS: Final[tuple[FaultKind, ...]] = ("rushed_eccentric", "rushed_pause", "lingered_pause")
"""Every kind of fault. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PerformedSet:
    """A set with the tempo asked and what was measured of it.

    Attributes:
        tempo: What was asked; None when nobody knows.
        restful_end: The end at which the exercise lets the muscle rest.
        reps: Repetitions done, over all segments; None when they were not counted.
        phase_s: Mean seconds of a repetition by phase, as far as a device or video measured them; empty otherwise.
        duration_s: Seconds of the whole set; None when not given.
        both_sides: One row holds both sides of what is done side by side, so its duration is that of two sets.
        rests_inside: The set has segments, with rest between them inside its duration.
    """

    tempo: Tempo | None
    restful_end: RestfulEnd = "none"
    reps: int | None = None
    phase_s: Mapping[Phase, Decimal] = field(default_factory=dict)
    duration_s: Decimal | None = None
    both_sides: bool = False
    rests_inside: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseComparison:
    """One phase: seconds asked and seconds performed.

    Attributes:
        phase: Which.
        asked_s: Seconds asked, X and A on the concentric as 1; 0 is none asked.
        performed_s: Seconds measured; None when they were not.
        tolerance_s: How far off is still as asked; None where the phase is not judged.
        fault: What was wrong; None when nothing was or nothing was judged.
        unasked_rest: Rest was taken at the restful end of a tempo that asks for none there. Whether the set was meant
            to be continuous is the coach's to say, so this is no fault.
    """

    phase: Phase
    asked_s: int
    performed_s: Decimal | None
    tolerance_s: Decimal | None = None
    fault: FaultKind | None = None
    unasked_rest: bool = False

    @property
    def judged(self) -> bool:
        """Whether this phase could have been at fault."""
        return self.tolerance_s is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoJudgement:
    """What is known of a set's tempo as performed.

    Attributes:
        basis: `phases` (measured), `duration` (of the whole set alone) or `none`.
        reason: `judged`, or why there is no basis.
        phases: The four phases side by side where the basis is measured, in the order written; else empty.
        overall: From the duration alone: `shorter`, `as_meant` or `longer` a repetition; None otherwise.
        asked_repetition_s: Seconds of a repetition as asked, X and A as 1; None without a tempo.
        performed_repetition_s: Seconds of a repetition as performed, unrounded; None when not known.
    """

    basis: Basis
    reason: Reason
    phases: tuple[PhaseComparison, ...] = ()
    overall: Overall | None = None
    asked_repetition_s: int | None = None
    performed_repetition_s: Decimal | None = None

    @property
    def faults(self) -> tuple[FaultKind, ...]:
        """The kinds of fault, each once, in their fixed order."""
        found = {phase.fault for phase in self.phases}
        return tuple(kind for kind in FAULT_KINDS if kind in found)

    @property
    def kept(self) -> bool | None:
        """Whether the tempo was kept; None unless it was judged by phases."""
        return not self.faults if self.basis == "phases" else None


def tempo_tolerance_s(asked_s: int | Decimal) -> Decimal:
    """Say how far from the seconds asked is still as asked.

    Args:
        asked_s: Seconds of a phase, or of a repetition.

    Returns:
        The larger of 0.5 s and 25 %.

    Source: practice.
    """
    return max(TEMPO_TOLERANCE_S, TEMPO_TOLERANCE_RATIO * asked_s)


def judge_tempo(performed: PerformedSet) -> TempoJudgement:
    """Judge one set.

    Args:
        performed: The set.

    Returns:
        By phases where at least one judged phase was measured: the eccentric and a working pause are `rushed` when
        shorter than asked by more than the tolerance, a pause at the restful end `lingered` when longer. Else by the
        duration of a repetition, whose lower bound takes X and A as no time at all. Else the reason why not.

    Source: practice.
    """
    tempo = performed.tempo
    if tempo is None:
        return TempoJudgement(basis="none", reason="no_tempo")
    phases = tuple(_beside(tempo, phase, performed) for phase in PHASES)
    if any(phase.judged for phase in phases):
        return TempoJudgement(
            basis="phases",
            reason="judged",
            phases=phases,
            asked_repetition_s=tempo.repetition_s(),
            performed_repetition_s=_measured_repetition_s(phases),
        )
    return _judge_duration(tempo, performed)


def _beside(tempo: Tempo, phase: Phase, performed: PerformedSet) -> PhaseComparison:
    asked_s, performed_s = tempo.phase_s(phase), performed.phase_s.get(phase)
    if performed_s is None or phase == "concentric":
        return PhaseComparison(phase=phase, asked_s=asked_s, performed_s=performed_s)
    tolerance_s = tempo_tolerance_s(asked_s)
    restful = phase == performed.restful_end
    if not asked_s:
        rested = restful and performed_s > tolerance_s
        return PhaseComparison(phase=phase, asked_s=0, performed_s=performed_s, unasked_rest=rested)
    return PhaseComparison(
        phase=phase,
        asked_s=asked_s,
        performed_s=performed_s,
        tolerance_s=tolerance_s,
        fault=_fault(phase, performed_s - asked_s, tolerance_s, restful=restful),
    )


def _fault(phase: Phase, over_s: Decimal, tolerance_s: Decimal, *, restful: bool) -> FaultKind | None:
    if restful:
        return "lingered_pause" if over_s > tolerance_s else None
    if over_s >= -tolerance_s:
        return None
    return "rushed_eccentric" if phase == "eccentric" else "rushed_pause"


def _measured_repetition_s(phases: tuple[PhaseComparison, ...]) -> Decimal | None:
    """Sum the phases; a pause that nobody asked for and nobody measured is taken as none."""
    total = Decimal(0)
    for phase in phases:
        if phase.performed_s is not None:
            total += phase.performed_s
        elif phase.asked_s or phase.phase in {"eccentric", "concentric"}:
            return None
    return total


def _judge_duration(tempo: Tempo, performed: PerformedSet) -> TempoJudgement:
    reason = _why_no_duration(performed)
    asked_s = tempo.repetition_s()
    if reason != "judged" or performed.duration_s is None or not performed.reps:
        return TempoJudgement(basis="none", reason=reason, asked_repetition_s=asked_s)
    each_s = performed.duration_s / performed.reps
    least_s = tempo.repetition_s(explosive_s=0)
    overall: Overall = "as_meant"
    if each_s < least_s - tempo_tolerance_s(least_s):
        overall = "shorter"
    elif each_s > asked_s + tempo_tolerance_s(asked_s):
        overall = "longer"
    return TempoJudgement(
        basis="duration",
        reason="judged",
        overall=overall,
        asked_repetition_s=asked_s,
        performed_repetition_s=each_s,
    )


def _why_no_duration(performed: PerformedSet) -> Reason:
    if performed.duration_s is None:
        return "nothing_to_judge" if performed.phase_s else "not_measured"
    if not performed.reps:
        return "no_repetitions"
    if performed.both_sides:
        return "both_sides_together"
    return "rests_inside" if performed.rests_inside else "judged"
