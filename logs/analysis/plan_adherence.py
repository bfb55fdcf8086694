"""What was done of the sets, repetitions, loads and tempos that a week's sessions ask for, whenever it was done.

Each is null without a base. Excused and paused sessions are left out. A swap counts as the set it stands for, but its
load is not held against the plan's.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from logs.analysis.adherence import NEUTRAL_STATES
from logs.analysis.facts import PlannedFact, SetFact
from logs.analysis.performed_sets import count_sets, counted, repetitions_of
from logs.analysis.performed_tempo import PerformedSet, judge_tempo
from logs.analysis.rounding import round_half_even_6


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAdherence:
    """A week's plan against what was done of it, named as the columns of the weekly row.

    Attributes:
        sets_planned: Work sets planned.
        sets_done: Work sets logged for them, of each session at most as many as planned.
        adherence_sets: Their quotient.
        reps_planned: The fewest repetitions of the planned work sets, both sides, as far as they are counted.
        reps_done: Repetitions logged for them, of each session at most as many as planned; those of a set to the
            limit, of a set beyond the planned ones, and of blocks against the clock are not in it.
        adherence_reps: Their quotient.
        load_judged_sets: Sets whose planned and lifted load are both known and mean the same.
        adherence_load: Load lifted over load planned, of those.
        tempo_judged_sets: Sets whose tempo is known and measured.
        tempo_kept_sets: Those of them without a fault.
        adherence_tempo: Their quotient.
    """

    sets_planned: int
    sets_done: int
    adherence_sets: Decimal | None
    reps_planned: int
    reps_done: int
    adherence_reps: Decimal | None
    load_judged_sets: int
    adherence_load: Decimal | None
    tempo_judged_sets: int
    tempo_kept_sets: int
    adherence_tempo: Decimal | None


def plan_adherence(planned: Iterable[PlannedFact]) -> PlanAdherence:
    """Hold what was done against a week's plan.

    Args:
        planned: The sessions planned in the week, with the sets logged for them.

    Returns:
        Counts and quotients, rounded half-even to six places.

    Source: practice; the tempo rule as in `performed_tempo`.
    """
    due = [fact for fact in planned if fact.state not in NEUTRAL_STATES]
    sets = [one for fact in due for one in counted(fact.sets)]
    sets_planned = sum(fact.planned_work_sets for fact in due)
    sets_done = sum(min(fact.done_work_sets, fact.planned_work_sets) for fact in due)
    reps_planned = sum(fact.planned_reps for fact in due)
    reps_done = sum(min(sum(map(_planned_reps, counted(fact.sets))), fact.planned_reps) for fact in due)
    loads = [(one, *pair) for one in sets if (pair := _loads_kg(one)) is not None]
    kept = [(one, well) for one in sets if (well := tempo_kept(one)) is not None]
    judged, faulty = count_sets(one for one, _ in kept), count_sets(one for one, well in kept if not well)
    return PlanAdherence(
        sets_planned=sets_planned,
        sets_done=sets_done,
        adherence_sets=_share(sets_done, sets_planned),
        reps_planned=reps_planned,
        reps_done=reps_done,
        adherence_reps=_share(reps_done, reps_planned),
        load_judged_sets=count_sets(one for one, *_ in loads),
        adherence_load=_share(
            sum((lifted for _, lifted, _ in loads), Decimal(0)), sum((asked for *_, asked in loads), Decimal(0))
        ),
        tempo_judged_sets=judged,
        tempo_kept_sets=judged - faulty,
        adherence_tempo=_share(judged - faulty, judged),
    )


def tempo_kept(one: SetFact) -> bool | None:
    """Say whether a set kept its tempo.

    Args:
        one: A set.

    Returns:
        As `performed_tempo.judge_tempo` says of its measured phases; None where nothing could be judged.

    Source: practice.
    """
    performed = PerformedSet(tempo=one.tempo_asked, restful_end=one.exercise.restful_end, phase_s=one.phase_s)
    return judge_tempo(performed).kept


def _planned_reps(one: SetFact) -> int:
    """Give the repetitions that stand for planned ones; where an app names no planned slot, all of them."""
    reps = repetitions_of(one) or 0
    if one.asked is None:
        return 0 if one.slot_planned else reps
    if one.asked.reps is None:
        return 0
    return reps * (one.asked.sides if one.side == "both" else 1)


def _loads_kg(one: SetFact) -> tuple[Decimal, Decimal] | None:
    asked = None if one.asked is None or one.swapped else one.asked.load_kg
    if asked is None or asked <= 0 or one.load_kg is None:
        return None
    return one.load_kg, asked


def _share(part: Decimal | int, whole: Decimal | int) -> Decimal | None:
    return round_half_even_6(Fraction(part) / Fraction(whole)) if whole else None
