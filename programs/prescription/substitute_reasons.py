"""Why an exercise stands in for another, and what is lost by it, in sentences."""

from collections.abc import Collection, Iterator
from decimal import Decimal
from typing import Final

from programs.prescription.constants import PERCENT
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import Loading

_LOADED_WITH: Final[dict[Loading, str]] = {
    "barbell": "a bar",
    "dumbbell_pair": "two dumbbells",
    "dumbbell": "one dumbbell",
    "kettlebell_pair": "two kettlebells",
    "kettlebell": "one kettlebell",
    "stack": "a weight stack",
    "plate_machine": "a plate-loaded machine",
    "bodyweight": "bodyweight",
    "band": "a band",
    "machine_monitor": "the machine's monitor",
    "sled": "a sled",
    "sandbag": "a sandbag",
    "none": "nothing weighed",
}
"""How loadings are called in a sentence. Practice."""

_UNWEIGHED: Final[frozenset[Loading]] = frozenset({"bodyweight", "band", "none"})
_ENDS: Final = {"shortened": "where the muscle is short", "lengthened": "where the muscle is long"}
_SIDES: Final = {
    "bilateral": "both sides work at once",
    "unilateral": "each side takes its own set",
    "alternating": "the sides take turns",
}


def what_is_kept(
    exercise: ExerciseFacts, candidate: ExerciseFacts, *, muscles_ratio: Decimal, equipment: Collection[str]
) -> tuple[str, ...]:
    """Say what a substitute has in common with the exercise, and why the client can do it.

    Args:
        exercise: what is replaced.
        candidate: what stands in.
        muscles_ratio: the likeness of their muscles, 0 to 1.
        equipment: what the client has; empty for not said.
    """
    if exercise.key == candidate.key:
        return (f"{exercise.name} itself fits.",)
    return tuple(_kept(exercise, candidate, muscles_ratio, equipment))


def what_is_lost(exercise: ExerciseFacts, candidate: ExerciseFacts) -> tuple[str, ...]:
    """Say what a substitute does not give that the exercise does; nothing where it is the exercise itself."""
    if exercise.key == candidate.key:
        return ()
    return tuple(_lost(exercise, candidate))


def _kept(
    exercise: ExerciseFacts, candidate: ExerciseFacts, muscles_ratio: Decimal, equipment: Collection[str]
) -> Iterator[str]:
    if exercise.pattern == candidate.pattern:
        yield f"The same movement pattern: {_words(exercise.pattern)}."
    shared = [muscle for muscle in exercise.primary_muscles if muscle in candidate.primary_muscles]
    alike = f"the muscles are {muscles_ratio * PERCENT:.0f} % alike"
    yield f"Works {_listed(shared)} first, too; {alike}." if shared else f"{alike[:1].upper()}{alike[1:]}."
    same_start = exercise.starts_at is not None and exercise.starts_at == candidate.starts_at
    if same_start and exercise.restful_end == candidate.restful_end:
        yield "Starts and rests at the same ends, so that the tempo reads the same."
    if exercise.laterality == candidate.laterality:
        yield f"As before, {_SIDES[candidate.laterality]}."
    if exercise.loading == candidate.loading:
        yield f"Loaded the same way: {_LOADED_WITH[candidate.loading]}."
    if equipment:
        things = [thing for thing in candidate.equipment if thing not in exercise.equipment]
        yield f"Needs {_listed(things)}, which the client has." if things else "Needs nothing more than is at hand."


def _lost(exercise: ExerciseFacts, candidate: ExerciseFacts) -> Iterator[str]:
    if exercise.pattern != candidate.pattern:
        yield f"It is another movement pattern: {_words(candidate.pattern)} in place of {_words(exercise.pattern)}."
    yield from _lost_muscles(exercise, candidate)
    yield from _lost_ends(exercise, candidate)
    if exercise.laterality != candidate.laterality:
        before, now = _SIDES[exercise.laterality], _SIDES[candidate.laterality]
        longer = "; the session gets longer" if candidate.laterality == "unilateral" else ""
        yield f"Before, {before}; now {now}{longer}."
    if exercise.loading != candidate.loading:
        yield f"Loaded with {_LOADED_WITH[candidate.loading]} in place of {_LOADED_WITH[exercise.loading]}."
        if candidate.loading in _UNWEIGHED and exercise.loading not in _UNWEIGHED:
            yield "Heavy loads are out of reach: effort has to come from repetitions, tempo or range."
    if candidate.loading not in ("machine_monitor", "none"):
        yield f"Loads of {exercise.name} do not carry over."


def _lost_muscles(exercise: ExerciseFacts, candidate: ExerciseFacts) -> Iterator[str]:
    worked = {*candidate.primary_muscles, *candidate.secondary_muscles}
    gone = [muscle for muscle in (*exercise.primary_muscles, *exercise.secondary_muscles) if muscle not in worked]
    if gone:
        yield f"Not worked any more: {_listed(gone)}."
    lesser = [muscle for muscle in exercise.primary_muscles if muscle in candidate.secondary_muscles]
    if lesser:
        yield f"Worked only beside others: {_listed(lesser)}."


def _lost_ends(exercise: ExerciseFacts, candidate: ExerciseFacts) -> Iterator[str]:
    if exercise.starts_at != candidate.starts_at and candidate.starts_at is not None:
        yield f"A repetition starts {_ENDS[candidate.starts_at]}: the tempo is performed in another order."
    if exercise.restful_end == candidate.restful_end:
        return
    if candidate.restful_end == "none":
        yield "No end of the movement rests the muscles: a pause there is work now."
    else:
        yield f"The muscles can rest {_ENDS[candidate.restful_end]}: a pause there is rest now."


def _words(word: str) -> str:
    return word.replace("_", " ")


def _listed(words: Collection[str]) -> str:
    *first, last = map(_words, words)
    return f"{', '.join(first)} and {last}" if first else last
