"""How long one set's work lasts, and how much of it is time under tension.

Work is time under tension where a tempo says so; without one, repetitions times the exercise's usual seconds.
A range of repetitions gives a low and a high time.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from programs.prescription.structure import Entry, ExerciseFacts, SetGroup
from programs.prescription.timeline_policy import TimelinePolicy

_LOADED = frozenset({"sled", "sandbag", "kettlebell", "kettlebell_pair", "dumbbell", "dumbbell_pair", "barbell"})


@dataclass(frozen=True, slots=True, kw_only=True)
class SetWork:
    """One side's work of one set, in whole seconds.

    ``inside_rest_s`` is rest between segments, beside the work. ``assumed`` marks that something was not
    written: a tempo, a speed, or the number of repetitions.
    """

    low_s: int
    high_s: int
    inside_rest_s: int = 0
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Repetitions:
    """Repetitions of one side of one set over all its segments, low and high."""

    low: int
    high: int
    assumed: bool = False


def unknown_exercise(key: str, policy: TimelinePolicy) -> ExerciseFacts:
    """Give the facts assumed of an exercise of which nothing is known.

    A station and a pattern of its own, the policy's usual seconds a repetition, no muscles, nothing to ramp up to.
    """
    return ExerciseFacts(key=key, name=key, pattern=key, station=key, repetition_s=policy.usual_repetition_s)


def repetitions(group: SetGroup, policy: TimelinePolicy) -> Repetitions | None:
    """Count a set's repetitions, segments summed; None where it is measured otherwise.

    A set to the limit without a number is reckoned by the policy's range, and marked.
    """
    limit = (policy.to_limit_reps_low, policy.to_limit_reps_high)
    if group.segments:
        parts = [limit if segment.reps is None else (segment.reps, segment.reps) for segment in group.segments]
        unsaid = any(segment.reps is None for segment in group.segments)
        return Repetitions(low=sum(low for low, _ in parts), high=sum(high for _, high in parts), assumed=unsaid)
    if group.reps_low is not None:
        high = group.reps_low if group.reps_high is None else group.reps_high
        return Repetitions(low=group.reps_low, high=high, assumed=group.to_limit)
    if group.to_limit and group.duration_s is None and group.distance_m is None and group.calories_kcal is None:
        return Repetitions(low=limit[0], high=limit[1], assumed=True)
    return None


def set_work(group: SetGroup, facts: ExerciseFacts, policy: TimelinePolicy, clock_s: int = 0) -> SetWork:
    """Reckon one side of one set.

    Args:
        group: the set.
        facts: the exercise; `unknown_exercise` where it is not in the catalogue.
        policy: how time is reckoned.
        clock_s: the work that the block's clock gives, for a set that has no measure of its own.
    """
    counted = repetitions(group, policy)
    if counted is None:
        seconds, assumed = _unrepeated_s(group, facts, policy, clock_s)
        return SetWork(low_s=seconds, high_s=seconds, assumed=assumed)
    each_s = facts.repetition_s if group.tempo is None else Decimal(group.tempo.repetition_s(policy.explosive_s))
    return SetWork(
        low_s=_whole_s(counted.low * each_s),
        high_s=_whole_s(counted.high * each_s),
        inside_rest_s=sum(segment.rest_before_s for segment in group.segments),
        assumed=counted.assumed or group.tempo is None,
    )


def entry_s(entry: Entry, facts: ExerciseFacts, policy: TimelinePolicy) -> int:
    """Reckon an entry piece, in seconds."""
    group = SetGroup(duration_s=entry.duration_s, distance_m=entry.distance_m, calories_kcal=entry.calories_kcal)
    return set_work(group, facts, policy).high_s


def _unrepeated_s(group: SetGroup, facts: ExerciseFacts, policy: TimelinePolicy, clock_s: int) -> tuple[int, bool]:
    if group.duration_s is not None:
        return group.duration_s, group.to_limit
    if group.distance_m is not None:
        return _whole_s(group.distance_m * _s_per_m(facts, policy)), True
    if group.calories_kcal is not None:
        each_s = facts.repetition_s if facts.measure == "calories" else policy.s_per_kcal
        return _whole_s(group.calories_kcal * each_s), True
    return clock_s, False


def _s_per_m(facts: ExerciseFacts, policy: TimelinePolicy) -> Decimal:
    if facts.measure == "metres":
        return facts.repetition_s
    if facts.loading == "machine_monitor":
        return policy.machine_s_per_m
    if facts.pattern == "carry" or facts.loading in _LOADED:
        return policy.loaded_s_per_m
    return policy.on_foot_s_per_m


def _whole_s(seconds: Decimal) -> int:
    return int(seconds.to_integral_value(rounding=ROUND_CEILING))
