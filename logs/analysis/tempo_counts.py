"""How well tempos were kept over many sets: counts by kind of fault, and the share of each week."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from logs.analysis.performed_tempo import FAULT_KINDS, FaultKind, TempoJudgement
from logs.analysis.rounding import round_half_even_6
from logs.analysis.time_under_tension import SetTension


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedSet:
    """A counted set, judged.

    Attributes:
        exercise: The exercise's key.
        week_start: The week in which it was performed.
        deload: It belongs to a planned deload week.
        judgement: What is known of its tempo.
        tension: Its time under tension, meant and performed; None when not known.
    """

    exercise: str
    week_start: date
    judgement: TempoJudgement
    tension: SetTension | None = None
    deload: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoCounts:
    """Sets by how much is known of their tempo, and what was found.

    Attributes:
        sets_by_phases: Judged by measured phases.
        sets_by_duration: Judged by the duration alone.
        sets_not_measured: A tempo was asked, and nothing measured that could be judged.
        sets_without_tempo: Nobody knows what was asked.
        faulty_sets: Judged by phases, with at least one fault.
        faults: Sets by kind of fault; a set may have more than one kind.
        unasked_rest_sets: Rested at the restful end where the tempo asks for none; no fault.
        shorter_sets: By duration alone, shorter a repetition than meant.
        longer_sets: By duration alone, longer; no fault, since it may be the concentric that slowed.
    """

    sets_by_phases: int
    sets_by_duration: int
    sets_not_measured: int
    sets_without_tempo: int
    faulty_sets: int
    faults: dict[FaultKind, int]
    unasked_rest_sets: int
    shorter_sets: int
    longer_sets: int

    @property
    def fault_rate(self) -> Decimal | None:
        """Share of the sets judged by phases that had a fault, to six places; None without such sets."""
        return _share(self.faulty_sets, self.sets_by_phases)

    @property
    def measured_rate(self) -> Decimal | None:
        """Share of the sets with a tempo that were judged by phases, to six places; None without such sets."""
        return _share(self.sets_by_phases, self.sets_by_phases + self.sets_by_duration + self.sets_not_measured)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekTempo:
    """A week's sets judged by phases. A deload week is marked, and left out of the trend."""

    week_start: date
    deload: bool
    sets: int
    faulty_sets: int

    @property
    def fault_rate(self) -> Decimal | None:
        """Share with a fault, to six places; None when nothing was judged."""
        return _share(self.faulty_sets, self.sets)


def tempo_counts(sets: Iterable[JudgedSet]) -> TempoCounts:
    """Count sets by what is known of their tempo.

    Args:
        sets: Judged sets, of one lift or of a person.

    Source: practice.
    """
    judgements = [one.judgement for one in sets]
    bases = Counter(judgement.basis for judgement in judgements)
    kinds = Counter(kind for judgement in judgements for kind in judgement.faults)
    overall = Counter(judgement.overall for judgement in judgements)
    without = sum(judgement.reason == "no_tempo" for judgement in judgements)
    return TempoCounts(
        sets_by_phases=bases["phases"],
        sets_by_duration=bases["duration"],
        sets_not_measured=bases["none"] - without,
        sets_without_tempo=without,
        faulty_sets=sum(bool(judgement.faults) for judgement in judgements),
        faults={kind: kinds[kind] for kind in FAULT_KINDS},
        unasked_rest_sets=sum(any(phase.unasked_rest for phase in judgement.phases) for judgement in judgements),
        shorter_sets=overall["shorter"],
        longer_sets=overall["longer"],
    )


def weekly_tempo(sets: Iterable[JudgedSet]) -> tuple[WeekTempo, ...]:
    """Count each week's sets that were judged by phases.

    Args:
        sets: Judged sets.

    Returns:
        The weeks that have any, oldest first.

    Source: practice.
    """
    by_week: dict[date, list[JudgedSet]] = {}
    for one in sets:
        if one.judgement.kept is not None:
            by_week.setdefault(one.week_start, []).append(one)
    return tuple(
        WeekTempo(
            week_start=week_start,
            deload=any(one.deload for one in own),
            sets=len(own),
            faulty_sets=sum(not one.judgement.kept for one in own),
        )
        for week_start, own in sorted(by_week.items())
    )


def _share(part: int, whole: int) -> Decimal | None:
    return round_half_even_6(Fraction(part, whole)) if whole else None
