"""Findings about one slot: its exercise, its tempo, its measure and its stimulus."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from programs.prescription.findings import Finding
from programs.prescription.slot_work import SetGroupWork
from programs.prescription.stimulus import HEADING, off_goal_bound_s
from programs.prescription.structure import ExerciseFacts, SetGroup, Slot

_PRACTICE: Final = "Practice."
"""What stands as the source where there is none. Practice."""

_REPEATED: Final = frozenset({"reps"})
"""Measures that repetitions can count. Practice."""


def unknown_exercise_findings(slot_exercise: str, place: str) -> Iterator[Finding]:
    """Refuse an exercise that the catalogue does not hold."""
    yield Finding(
        severity="error",
        code="unknown_exercise",
        message=f"{slot_exercise} is not in the catalogue.",
        pointer=f"{place}/exercise",
        rule="Every exercise named is in the business's catalogue.",
        source=_PRACTICE,
        suggestion="Name an exercise of the catalogue by its key, or add it first.",
    )


def slot_findings(slot: Slot, facts: ExerciseFacts, groups: tuple[SetGroupWork, ...], place: str) -> Iterator[Finding]:
    """Judge one slot whose exercise is known.

    Args:
        slot: the slot.
        facts: its exercise.
        groups: what its set groups ask for, in the same order.
        place: the slot's JSON Pointer.
    """
    if slot.per_side and facts.laterality == "bilateral":
        yield Finding(
            severity="warning",
            code="sides_of_bilateral",
            message=f"{facts.name} uses both sides at once, but the slot counts each side.",
            pointer=f"{place}/per_side",
            rule="Sides are counted apart only where one works at a time.",
            source=_PRACTICE,
            suggestion="Take out per_side, or choose a one-sided exercise.",
            figure=Decimal(2),
            bound=Decimal(1),
            unit="sides",
        )
    for index, (group, work) in enumerate(zip(slot.sets, groups, strict=False)):
        set_place = f"{place}/sets/{index}"
        yield from _measure_findings(group, facts, set_place)
        yield from _tempo_findings(group, facts, work, set_place)
        if group.counts_as_work:
            yield from _stimulus_findings(slot, work, set_place)


def _measure_findings(group: SetGroup, facts: ExerciseFacts, place: str) -> Iterator[Finding]:
    if facts.measure in _REPEATED or group.first_segment_reps is None:
        return
    yield Finding(
        severity="error",
        code="reps_for_hold",
        message=f"{facts.name} is measured in {facts.measure}, and repetitions of it cannot be counted.",
        pointer=f"{place}/reps_low",
        rule="A set is measured as its exercise is.",
        source=_PRACTICE,
        suggestion="Write duration_s, distance_m or calories_kcal in place of the repetitions.",
        figure=Decimal(group.first_segment_reps[0]),
        unit="repetitions",
    )


def _tempo_findings(group: SetGroup, facts: ExerciseFacts, work: SetGroupWork, place: str) -> Iterator[Finding]:
    tempo = group.tempo
    if tempo is None:
        return
    if facts.starts_at is None:
        yield Finding(
            severity="warning",
            code="tempo_without_phases",
            message=f"{facts.name} has no eccentric and concentric to time, so its tempo cannot be followed.",
            pointer=f"{place}/tempo",
            rule="A tempo times the four phases of a repetition.",
            source=_PRACTICE,
            suggestion="Take out the tempo, and say the pace in the notes.",
            figure=Decimal(work.repetition_s or 0),
            unit="s",
        )
    for phase in tempo.zero_movements():
        yield Finding(
            severity="warning",
            code="tempo_zero_phase",
            message=f"The {phase} of {tempo} is 0 s, and no movement takes no time.",
            pointer=f"{place}/tempo",
            rule="A movement lasts a second or more, or is written X.",
            source=_PRACTICE,
            suggestion="Write 1 or more, or X for a concentric as fast as possible.",
            figure=Decimal(0),
            unit="s",
        )
    if work.continuous == "continuous":
        yield Finding(
            severity="note",
            code="continuous_set",
            message=(
                f"{tempo} asks for no pause at the {facts.restful_end} end, where this exercise lets the muscle "
                "rest: the set has no rest inside it."
            ),
            pointer=f"{place}/tempo",
            rule="A tempo without a pause at the restful end suggests a continuous set.",
            source=_PRACTICE,
            suggestion="Say in the notes that the set is continuous, or write a pause at the restful end.",
            figure=Decimal(0),
            unit="s",
        )


def _stimulus_findings(slot: Slot, work: SetGroupWork, place: str) -> Iterator[Finding]:
    missed = off_goal_bound_s(slot.goal, work.stimulus, work.tut_s, work.in_reserve)
    if missed is None:
        return
    figure_s, bound_s = missed
    yield Finding(
        severity="note",
        code="off_goal",
        message=(
            f"{slot.slot_key} is meant for {slot.goal}, but {figure_s} s under tension and its load with "
            f"repetitions are both read as something else ({HEADING})."
        ),
        pointer=place,
        rule="Neither reading holds the slot's goal, within 3 of failure and 15 % past the band.",
        source=_PRACTICE,
        suggestion="Change the repetitions, the tempo or the goal; leave it if it is meant so.",
        figure=Decimal(figure_s),
        bound=Decimal(bound_s),
        unit="s",
    )
