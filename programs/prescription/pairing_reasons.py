"""Why a pairing is as it is, in sentences: what each block is for, and why an exercise stands alone."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Final

from programs.prescription.block_barriers import Barrier, barrier
from programs.prescription.paired_block import BlockPlan, TimedExercise
from programs.prescription.session_findings import LIKE_MUSCLE_SOURCE
from programs.prescription.timeline import Timeline

_BARRIERS: Final[Mapping[Barrier, str]] = {
    "station": "needs the same station as",
    "grip": "is limited by grip, as is",
    "trunk": "is limited by the trunk, as is",
}
"""How a bar to sharing a block is said. Practice."""


def shared_block_reasons(plan: BlockPlan, slot_keys: Sequence[str], timeline: Timeline) -> Iterator[str]:
    """Say what exercises that take turns gain from it.

    Args:
        plan: the block.
        slot_keys: the keys of its slots, in order of performing.
        timeline: the whole session's.
    """
    names = " and ".join(exercise.facts.name for exercise in plan.order)
    yield f"{names} take turns: each rests while the other works, with {plan.rest_s} s between any two sets."
    for exercise, slot_key in zip(plan.order, slot_keys, strict=True):
        rest = timeline.effective_rests.get(slot_key)
        if rest is not None and rest.least_s is not None:
            yield f"{exercise.facts.name} rests {rest.least_s} s or more; {exercise.wanted_rest_s} s were wanted."
    for first, second in combinations(plan.order, 2):
        shared = sorted(set(first.facts.primary_muscles) & set(second.facts.primary_muscles))
        if shared:
            yield (
                f"{first.facts.name} and {second.facts.name} both work {', '.join(shared)}: the rest between them is "
                f"kept in full. Without it one trial found smaller gains ({LIKE_MUSCLE_SOURCE})"
            )


def lone_block_reasons(exercise: TimedExercise, exercises: Sequence[TimedExercise]) -> Iterator[str]:
    """Say why an exercise stands alone, though others might have been beside it.

    Args:
        exercise: the one alone.
        exercises: every exercise of the session, as given.
    """
    for other in exercises:
        found = None if other.index == exercise.index else barrier(exercise.facts, other.facts)
        if found is not None:
            yield f"{exercise.facts.name} {_BARRIERS[found]} {other.facts.name}."
    yield (
        f"{exercise.facts.name} stands alone with {exercise.wanted_rest_s} s between its sets: no block with another "
        "made the session shorter at the rests wanted."
    )
