"""Edits of what one session has otherwise: a slot added, taken out, changed in its fields, or put back.

The edits of one call are judged together, by the session that they leave: two of them may make a pair that neither
makes alone. What a slot was changed in goes when it is taken out, and a slot that was added goes when it is put back.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from programs.prescription.added_slots import with_added_slot, without_added_slots, written_additions
from programs.prescription.document_faults import DocumentFault
from programs.prescription.session_changes import SessionChanges, changed_session, exchanged_session
from programs.prescription.session_slots import AddedSlots, SlotFields, block_slot_keys, reslotted_session
from programs.prescription.slot_changes import kept_fields, with_slot
from programs.prescription.structure import ExerciseFacts, Session
from programs.prescription.substituted_sessions import Substitutions


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPlace:
    """Where an added slot comes: beside another slot, into its block or as ``block`` next to it; alone, last."""

    block: Mapping[str, Any] | None = None
    beside: str | None = None
    before: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotEdit:
    """An edit of one slot: ``place`` adds it, ``take_out`` takes it or all of its block out, ``fields`` change it.

    Nothing of them puts the slot back as its version has it: an added one goes, one taken out returns.
    """

    slot_key: str
    fields: SlotFields = field(default_factory=dict)
    place: NewPlace | None = None
    take_out: Literal["slot", "block"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedEdits:
    """What is wrong with edits: by the place of the edit from 0, its faults, with pointers inside it.

    None is no edit in particular.
    """

    faults: Mapping[int | None, tuple[DocumentFault, ...]]


def edited_changes(
    session: Session,
    changes: SessionChanges,
    edits: Sequence[SlotEdit],
    exercises: Mapping[str, ExerciseFacts],
    substitutions: Substitutions | None = None,
) -> SessionChanges | RefusedEdits:
    """Edit a session's changes.

    Args:
        session: as its version prescribes it.
        changes: what it has otherwise already.
        edits: in order; exercises in them are named by key.
        exercises: facts by key, of every exercise of the session, the substitutions, the changes and the edits.
        substitutions: the client's own.

    Returns:
        The changes as they are kept, or why nobody could follow them.
    """
    placed = _placed(session, changes, edits)
    if isinstance(placed, RefusedEdits):
        return placed
    reslotted = reslotted_session(session, placed.added, placed.removed, _wanted(placed, edits))
    before = changed_session(session, replace(changes, loads={}, deload=None), exercises, substitutions)
    lost = {key: found for key, found in reslotted.faults.items() if _is_lost(key, edits, before.without_place)}
    if lost:
        return _refused(lost, edits)
    new = {edit.slot_key for edit in edits if edit.place is not None}
    placed = replace(placed, added=written_additions(placed.added, reslotted.session, new))
    own = exchanged_session(reslotted.session, substitutions or {}, placed.swaps, exercises)
    kept = _changed_fields(own, placed, edits, exercises)
    if isinstance(kept, RefusedEdits):
        return kept
    after = changed_session(session, replace(kept, loads={}, deload=None), exercises, substitutions)
    left_out = {
        key: (_fault("#/slot_key", "left_out", said),)
        for key, said in after.without_place.items()
        if _is_lost(key, edits, before.without_place)
    }
    return _refused(left_out, edits) if left_out else kept


def _wanted(changes: SessionChanges, edits: Sequence[SlotEdit]) -> Mapping[str, SlotFields]:
    """Give the fields of slots that will be changed, before anything is known of whether they can be."""
    wanted = dict(changes.slots)
    for edit in edits:
        if edit.place is None:
            wanted[edit.slot_key] = {**wanted.get(edit.slot_key, {}), **edit.fields}
    return wanted


def _is_lost(key: str, edits: Iterable[SlotEdit], before: Iterable[str]) -> bool:
    """Say whether a change without a place is the edits' doing: others had none already."""
    return key in {edit.slot_key for edit in edits} or key not in before


def _refused(faults: Mapping[str, tuple[DocumentFault, ...]], edits: Sequence[SlotEdit]) -> RefusedEdits:
    places = {edit.slot_key: index for index, edit in enumerate(edits)}
    own: dict[int | None, tuple[DocumentFault, ...]] = {
        places[key]: found for key, found in faults.items() if key in places
    }
    return RefusedEdits(faults=own or {None: tuple(fault for found in faults.values() for fault in found)})


def _placed(session: Session, changes: SessionChanges, edits: Sequence[SlotEdit]) -> SessionChanges | RefusedEdits:
    faults: dict[int | None, tuple[DocumentFault, ...]] = {}
    for index, edit in enumerate(edits):
        found = _with_edit(session, changes, edit)
        if isinstance(found, SessionChanges):
            changes = found
        else:
            faults[index] = (found,)
    return RefusedEdits(faults=faults) if faults else changes


def _with_edit(session: Session, changes: SessionChanges, edit: SlotEdit) -> SessionChanges | DocumentFault:
    if edit.place is not None:
        return _with_added(session, changes, edit, edit.place)
    if edit.take_out is not None:
        return _with_taken_out(session, changes, edit)
    if not edit.fields:
        return _put_back(changes, edit.slot_key)
    if edit.slot_key in changes.removed:
        said = f"{edit.slot_key} is taken out of this session; send its slot_key alone to put it back first."
        return _fault("#/slot_key", "slot_taken_out", said)
    return changes


def _with_added(
    session: Session, changes: SessionChanges, edit: SlotEdit, place: NewPlace
) -> SessionChanges | DocumentFault:
    if edit.slot_key in {slot.slot_key for slot in session.slots}:
        said = f"{edit.slot_key} is a slot of the session's version; give the new one another slot_key."
        return _fault("#/slot_key", "slot_key_repeated", said)
    if edit.slot_key in _added_keys(changes):
        said = f"{edit.slot_key} is added already; leave add out to change it, or give the new one another slot_key."
        return _fault("#/slot_key", "slot_key_repeated", said)
    known = {slot.slot_key for slot in session.slots} | _added_keys(changes)
    if place.beside is not None and place.beside not in known:
        side = "before" if place.before else "after"
        said = f"The session has the slots {_there(session, changes)}, and no {place.beside}."
        return _fault(f"#/add/{side}", "unknown_slot", said)
    slot = {"slot_key": edit.slot_key, **edit.fields}
    before = place.before and place.beside is not None
    new = AddedSlots(slots=(slot,), block=place.block, beside=place.beside, before=before)
    return replace(changes, added=with_added_slot(changes.added, new))


def _with_taken_out(session: Session, changes: SessionChanges, edit: SlotEdit) -> SessionChanges | DocumentFault:
    key = edit.slot_key
    keys: tuple[str, ...] = (key,)
    if edit.take_out == "block":
        keys = block_slot_keys(session, changes.added, changes.removed, key)
    own = {slot.slot_key for slot in session.slots}
    if not keys or not {*keys} <= own | _added_keys(changes):
        said = f"The session has the slots {_there(session, changes)}, and no {key}."
        return _fault("#/slot_key", "unknown_slot", said)
    gone = (one for one in keys if one in own and one not in changes.removed)
    return replace(_without(changes, keys), removed=(*changes.removed, *gone))


def _put_back(changes: SessionChanges, key: str) -> SessionChanges:
    back = replace(changes, removed=tuple(one for one in changes.removed if one != key))
    if key in _added_keys(changes):
        return _without(back, (key,))
    return replace(back, slots={one: fields for one, fields in back.slots.items() if one != key})


def _without(changes: SessionChanges, keys: Sequence[str]) -> SessionChanges:
    """Leave out what slots that go were added as, changed in and loaded with."""
    return replace(
        changes,
        added=without_added_slots(changes.added, keys),
        slots={key: fields for key, fields in changes.slots.items() if key not in keys},
        loads={key: load for key, load in changes.loads.items() if key not in keys},
    )


def _changed_fields(
    session: Session, changes: SessionChanges, edits: Sequence[SlotEdit], exercises: Mapping[str, ExerciseFacts]
) -> SessionChanges | RefusedEdits:
    kept = dict(changes.slots)
    for index, edit in enumerate(edits):
        if edit.place is not None:
            continue
        if not edit.fields:
            kept.pop(edit.slot_key, None)
            continue
        fields = {**kept.get(edit.slot_key, {}), **edit.fields}
        placed = with_slot(session, edit.slot_key, fields, exercises)
        if not isinstance(placed, Session):
            return RefusedEdits(faults={index: tuple(placed)})
        kept[edit.slot_key] = kept_fields(placed, edit.slot_key, fields)
    return replace(changes, slots=kept)


def _added_keys(changes: SessionChanges) -> set[str]:
    return {key for added in changes.added for key in added.slot_keys}


def _there(session: Session, changes: SessionChanges) -> str:
    own = (slot.slot_key for slot in session.slots if slot.slot_key not in changes.removed)
    return ", ".join((*own, *(key for added in changes.added for key in added.slot_keys)))


def _fault(pointer: str, code: str, message: str) -> DocumentFault:
    return DocumentFault(pointer=pointer, code=code, message=message)
