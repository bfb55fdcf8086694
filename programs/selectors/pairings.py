"""Pairings of exercises that are not stored, read against the business's catalogue."""

import re
from collections.abc import Sequence
from typing import Any, Literal
from uuid import UUID

from coaching.policy import Principal
from coaching.refusals import Fault
from programs.prescription.constants import PAIRINGS_EXERCISES_MAX
from programs.prescription.document import DocumentError, decode_session
from programs.prescription.pairings import Pairing, PairingError, PairingPolicy, PlannedExercise, best_pairings
from programs.prescription.structure import ExerciseFacts, Slot
from programs.selectors.exercises import exercise_facts
from programs.selectors.prescriptions import InvalidPrescription, check_exercises, client_minutes
from programs.selectors.timelines import business_timelines

_EXERCISES = "#/exercises"
_SLOT_PLACE = re.compile(r"#/blocks/(\d+)/slots/0")


def pairing_suggestions(
    *,
    actor: Principal,
    exercises: Sequence[object],
    client_id: UUID | None = None,
    minutes: int | None = None,
    place: Literal["gym", "home"] = "gym",
    novice: bool = False,
) -> tuple[list[Pairing], dict[str, ExerciseFacts]]:
    """Work out the pairings of exercises, with what is known of each by key.

    Args:
        actor: who asks.
        exercises: each as a slot's document; its slot_key is given anew.
        client_id: whose minutes they are to fit, where `minutes` does not say.
        minutes: the minutes available.
        place: where it is done, which says how long changing station takes.
        novice: whether the client has trained for less than 6 months.

    Raises:
        InvalidPrescription: with every fault of the exercises, or the reason why they can't be paired.
        UnknownObject: no such client that the caller may see.
    """
    slots = _read_slots(exercises)
    facts = exercise_facts({slot.exercise for slot in slots})
    check_exercises([(f"{_EXERCISES}/{index}/exercise", slot.exercise) for index, slot in enumerate(slots)], facts)
    available = minutes if minutes is not None else client_minutes(actor, client_id)
    timeline = business_timelines().at(place)
    planned = [PlannedExercise(slot=slot, facts=facts[slot.exercise]) for slot in slots]
    try:
        found = best_pairings(planned, available, policy=PairingPolicy(timeline=timeline, novice=novice))
    except PairingError as error:
        at = _EXERCISES if error.exercise_index is None else f"{_EXERCISES}/{error.exercise_index}"
        raise InvalidPrescription.at(at, str(error), error.code) from None
    return found, facts


def _read_slots(exercises: Sequence[object]) -> list[Slot]:
    if len(exercises) > PAIRINGS_EXERCISES_MAX:
        raise InvalidPrescription.at(
            _EXERCISES,
            f"Give at most {PAIRINGS_EXERCISES_MAX} exercises, not {len(exercises)}; a longer session is better split "
            "in two.",
            "too_many",
        )
    blocks = [{"kind": "straight", "slots": [_keyed(item, index)]} for index, item in enumerate(exercises, start=1)]
    try:
        return list(decode_session({"blocks": blocks}).slots)
    except DocumentError as error:
        faults = [
            Fault(_SLOT_PLACE.sub(rf"{_EXERCISES}/\1", fault.pointer), fault.code, fault.message)
            for fault in error.faults
        ]
        raise InvalidPrescription(f"{faults[0].pointer}: {faults[0].detail}", faults=faults) from None


def _keyed(item: object, number: int) -> Any:
    return {**item, "slot_key": f"E{number}"} if isinstance(item, dict) else item
