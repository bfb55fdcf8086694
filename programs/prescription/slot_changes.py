"""Changed fields of one slot of a session, laid over what its version asks of it."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from programs.prescription.document import DocumentError, DocumentFault, decode_session, encode_session
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot
from programs.prescription.substituted_sessions import substituted_session

SLOT_FIELDS: Final = ("exercise", "sets", "rest_s", "notes")
"""What of a slot can be changed. Practice."""

SlotFields = Mapping[str, Any]

_MEASURED_BY: Final[Mapping[str, tuple[str, ...]]] = {
    "seconds": ("duration_s",),
    "metres": ("distance_m", "duration_s"),
    "calories": ("calories_kcal", "duration_s"),
}
"""Fields of a set that measure what is not counted in repetitions. Practice."""


def with_slot(
    session: Session, slot_key: str, fields: SlotFields, exercises: Mapping[str, ExerciseFacts]
) -> Session | list[DocumentFault]:
    """Change fields of a slot; without sets of its own, another exercise takes the loads that carry over.

    Args:
        session: the session.
        slot_key: which slot.
        fields: the changed fields, as a document gives them.
        exercises: facts by key, the new exercise among them.

    Returns:
        The session, or what is wrong, each at its place in the slot: `#/sets/1/reps_low`.
    """
    found = next((slot for slot in session.slots if slot.slot_key == slot_key), None)
    if found is None:
        there = ", ".join(slot.slot_key for slot in session.slots)
        sentence = f"The session has the slots {there}, and no {slot_key}."
        return [DocumentFault(pointer="#/slot_key", code="unknown_slot", message=sentence)]
    if fields.get("exercise") and "sets" not in fields:
        alone = Session(blocks=(Block(slots=(found,)),))
        own = substituted_session(alone, {found.exercise: str(fields["exercise"])}, exercises).slots[0]
        session = _put(session, own)
    document = encode_session(session)
    block_index, slot_index = _place(session, slot_key)
    document["blocks"][block_index]["slots"][slot_index].update(fields)
    try:
        changed = decode_session(document)
    except DocumentError as error:
        pointer = f"#/blocks/{block_index}/slots/{slot_index}"
        return [_placed(fault, pointer) for fault in error.faults]
    slot = changed.blocks[block_index].slots[slot_index]
    return list(_measure_faults(slot, exercises.get(slot.exercise), fields)) or changed


def _measure_faults(slot: Slot, facts: ExerciseFacts | None, fields: SlotFields) -> Iterator[DocumentFault]:
    """Refuse repetitions of what is held, carried or read off a machine, at what brings them together."""
    if facts is None or facts.measure == "reps" or not fields.keys() & {"exercise", "sets"}:
        return
    counted = [index for index, group in enumerate(slot.sets) if group.first_segment_reps is not None]
    wanted = " or ".join(_MEASURED_BY[facts.measure])
    message = f"{facts.name} is measured in {facts.measure}: send sets with {wanted} along, not repetitions."
    places = [f"#/sets/{index}/reps_low" for index in counted] if "sets" in fields else ["#/exercise"]
    for place in places if counted else ():
        yield DocumentFault(pointer=place, code="reps_for_hold", message=message)


def kept_fields(session: Session, slot_key: str, fields: SlotFields) -> dict[str, Any]:
    """Give a slot's changed fields in the form in which they are kept: as the document writes them.

    Args:
        session: the session with the change in it.
        slot_key: the slot.
        fields: which fields were changed.
    """
    slots = [slot for block in encode_session(session)["blocks"] for slot in block["slots"]]
    written = next(slot for slot in slots if slot["slot_key"] == slot_key)
    return {name: written[name] for name in SLOT_FIELDS if name in fields}


def _put(session: Session, own: Slot) -> Session:
    def slots(block: Block) -> tuple[Slot, ...]:
        return tuple(own if slot.slot_key == own.slot_key else slot for slot in block.slots)

    return replace(session, blocks=tuple(replace(block, slots=slots(block)) for block in session.blocks))


def _place(session: Session, slot_key: str) -> tuple[int, int]:
    return next(
        (block_index, slot_index)
        for block_index, block in enumerate(session.blocks)
        for slot_index, slot in enumerate(block.slots)
        if slot.slot_key == slot_key
    )


def _placed(fault: DocumentFault, slot_pointer: str) -> DocumentFault:
    inside = fault.pointer == slot_pointer or fault.pointer.startswith(f"{slot_pointer}/")
    return replace(fault, pointer="#" + fault.pointer.removeprefix(slot_pointer) if inside else "#")
