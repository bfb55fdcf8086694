"""What one slot asks for: time under tension, working time, words and stimulus of each of its set groups."""

from dataclasses import dataclass
from decimal import Decimal

from programs.prescription.effort import prescribed_reserve
from programs.prescription.set_work import repetitions, set_work
from programs.prescription.stimulus import Stimulus, read_stimulus
from programs.prescription.structure import ExerciseFacts, SetGroup, Slot
from programs.prescription.tempo import ContinuousReading, Tempo, performed_words
from programs.prescription.tempo_classes import TempoClass, tempo_class
from programs.prescription.timeline_policy import TimelinePolicy


@dataclass(frozen=True, slots=True, kw_only=True)
class SetGroupWork:
    """One set of a group, in whole seconds, one side unless said otherwise.

    ``tut_*`` is time under tension with X counted as the policy's seconds, ``tut_least_s`` with X counted as 0;
    both are None without a tempo or a hold, and then ``tut_reason`` says why. ``working_*`` leaves out the pause
    at the restful end and the assisted concentric. ``duration_*`` is the whole set: both sides, the change of
    sides, and the rests inside.
    """

    count: int
    tut_least_s: int | None
    tut_low_s: int | None
    tut_high_s: int | None
    tut_reason: str | None
    working_low_s: int | None
    working_high_s: int | None
    duration_low_s: int
    duration_high_s: int
    repetition_s: int | None
    tempo_class: TempoClass
    continuous: ContinuousReading | None
    performed: str | None
    in_reserve: Decimal | None
    stimulus: Stimulus

    @property
    def tut_s(self) -> tuple[int, int] | None:
        """Time under tension, low and high; None where it is not known."""
        if self.tut_low_s is None or self.tut_high_s is None:
            return None
        return self.tut_low_s, self.tut_high_s


def slot_work(slot: Slot, facts: ExerciseFacts, policy: TimelinePolicy, clock_s: int = 0) -> tuple[SetGroupWork, ...]:
    """Reckon each of a slot's set groups.

    Args:
        slot: the slot.
        facts: its exercise.
        policy: how time is reckoned.
        clock_s: the work that the block's clock gives to a set without a measure.
    """
    groups = slot.sets or (SetGroup(),)
    return tuple(_group_work(slot, group, facts, policy, clock_s) for group in groups)


def _group_work(
    slot: Slot, group: SetGroup, facts: ExerciseFacts, policy: TimelinePolicy, clock_s: int
) -> SetGroupWork:
    work = set_work(group, facts, policy, clock_s)
    sides = 2 if slot.per_side else 1
    beside_s = work.inside_rest_s * sides + policy.change_sides_s * (sides - 1)
    least, tut, working = _tension(group, facts, policy)
    tempo = group.tempo
    return SetGroupWork(
        count=group.count,
        tut_least_s=least,
        tut_low_s=None if tut is None else tut[0],
        tut_high_s=None if tut is None else tut[1],
        tut_reason=_unknown_reason(group) if tut is None else None,
        working_low_s=None if working is None else working[0],
        working_high_s=None if working is None else working[1],
        duration_low_s=work.low_s * sides + beside_s,
        duration_high_s=work.high_s * sides + beside_s,
        repetition_s=None if tempo is None else tempo.repetition_s(policy.explosive_s),
        tempo_class=tempo_class(tempo, facts.restful_end),
        continuous=None if tempo is None else tempo.continuous_reading(facts.restful_end),
        performed=_performed(tempo, facts),
        in_reserve=prescribed_reserve(group),
        stimulus=read_stimulus(group, tut),
    )


def _unknown_reason(group: SetGroup) -> str:
    if group.tempo is None:
        return "No tempo: time under tension is not known."
    return "No repetitions counted: time under tension is not known."


def _performed(tempo: Tempo | None, facts: ExerciseFacts) -> str | None:
    if tempo is None or facts.phase_words is None or facts.starts_at is None:
        return None
    return performed_words(tempo, facts.starts_at, facts.phase_words)


def _tension(
    group: SetGroup, facts: ExerciseFacts, policy: TimelinePolicy
) -> tuple[int | None, tuple[int, int] | None, tuple[int, int] | None]:
    if group.tempo is None:
        held = group.duration_s if facts.measure == "seconds" else None
        span = None if held is None else (held, held)
        return held, span, span
    counted = repetitions(group, policy)
    if counted is None:
        return None, None, None
    each_s = group.tempo.repetition_s(policy.explosive_s)
    working_s = group.tempo.working_s(facts.restful_end, policy.explosive_s)
    return (
        counted.low * group.tempo.repetition_s(0),
        (counted.low * each_s, counted.high * each_s),
        (counted.low * working_s, counted.high * working_s),
    )
