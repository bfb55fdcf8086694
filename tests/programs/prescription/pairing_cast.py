"""Exercises of our own for pairings: small facts, sets by seconds, rests as they are wanted."""

from programs.prescription.pairings import PlannedExercise
from programs.prescription.structure import ExerciseFacts, SetGroup, Slot


def facts(key, muscle, station=None, pattern="squat", secondary=()):
    """An exercise with one primary muscle at a station of its own, unless said otherwise."""
    return ExerciseFacts(
        key=key,
        name=key.replace("-", " ").title(),
        pattern=pattern,
        primary_muscles=(muscle,),
        secondary_muscles=secondary,
        measure="seconds",
        station=station or f"station-{key}",
    )


def planned(found, *, sets=3, work_s=40, rest_s=None, goal=None):
    """An exercise to be placed, of equal timed sets."""
    slot = Slot(
        slot_key="x",
        exercise=found.key,
        goal=goal,
        rest_s=rest_s,
        sets=(SetGroup(count=sets, duration_s=work_s),),
    )
    return PlannedExercise(slot=slot, facts=found)


def exercises_of(pairing):
    """The exercises of each block, in order of performing."""
    return [[slot.exercise for slot in block.slots] for block in pairing.session.blocks]
