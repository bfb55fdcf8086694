"""What one client's session has otherwise than its version: swaps, changed slots, and a deload of its own.

Changes are rules laid over the version's session, not a copy of it, so that they hold when the version changes.
Swaps come first, then the slots, then accepted loads, then the deload.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Final

from programs.prescription.accepted_loads import (
    AcceptedLoad,
    encode_accepted_load,
    read_accepted_load,
    tell_accepted,
    with_accepted_loads,
)
from programs.prescription.document import DocumentError, DocumentFault, decode_session, encode_session
from programs.prescription.prescription_words import load_words
from programs.prescription.progression_rounds import apply_in_rounds, in_rounds
from programs.prescription.progression_rules import Deload
from programs.prescription.progression_steps import StepError, SteppedWeek, apply_rule
from programs.prescription.snapshot import References, SessionSnapshot, session_snapshot
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot
from programs.prescription.substituted_sessions import substituted_session
from programs.prescription.vocabulary import LoadUnit

SLOT_FIELDS: Final = ("exercise", "sets", "rest_s", "notes")
"""What of a slot can be changed. Practice."""

_WRITTEN_LOADS: Final = frozenset({"absolute", "band", "same_as"})
"""Loads that are written for one exercise. Practice."""

_THIS_WEEK: Final = SteppedWeek(week_number=2, deload_weeks=(2,))
"""A deload of one session is reckoned as that of a program's deload week. Practice."""

SlotFields = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionChanges:
    """Changes of one session.

    ``swaps`` gives the exercise instead, by exercise key; ``slots`` the changed fields of a slot's document, by
    slot_key; ``loads`` the accepted loads, by slot_key; ``deload`` what it makes lighter.
    """

    swaps: Mapping[str, str] = field(default_factory=dict)
    slots: Mapping[str, SlotFields] = field(default_factory=dict)
    loads: Mapping[str, AcceptedLoad] = field(default_factory=dict)
    deload: Deload | None = None

    @property
    def exercises(self) -> frozenset[str]:
        """The keys of the exercises that the changes bring in."""
        named = {fields["exercise"] for fields in self.slots.values() if fields.get("exercise")}
        return frozenset(named | set(self.swaps.values()))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedSession:
    """A session with its changes, and a sentence by slot_key for each change that has no place in it.

    ``accepted`` has the accepted loads that do have one, and ``unaccepted`` is the session without them.
    """

    session: Session
    without_place: Mapping[str, str]
    accepted: Mapping[str, AcceptedLoad] = field(default_factory=dict)
    unaccepted: Session | None = None


def read_changes(document: Mapping[str, Any] | None) -> SessionChanges:
    """Read changes as they are kept; None is no change."""
    kept = document or {}
    deload = kept.get("deload")
    return SessionChanges(
        swaps=kept.get("swaps", {}),
        slots=kept.get("slots", {}),
        loads={key: read_accepted_load(load) for key, load in kept.get("loads", {}).items()},
        deload=None
        if deload is None
        else Deload(every_weeks=2, sets_pct=Decimal(deload["sets_pct"]), load_pct=Decimal(deload["load_pct"])),
    )


def encode_changes(changes: SessionChanges) -> dict[str, Any] | None:
    """Write changes as they are kept: a JSON object, or None where nothing is changed."""
    kept: dict[str, Any] = {}
    if changes.swaps:
        kept["swaps"] = dict(changes.swaps)
    if changes.slots:
        kept["slots"] = {key: dict(fields) for key, fields in changes.slots.items()}
    if changes.loads:
        kept["loads"] = {key: encode_accepted_load(load) for key, load in changes.loads.items()}
    if changes.deload is not None:
        kept["deload"] = {
            "sets_pct": format(changes.deload.sets_pct, "f"),
            "load_pct": format(changes.deload.load_pct, "f"),
        }
    return kept or None


def changed_session(
    session: Session, changes: SessionChanges, exercises: Mapping[str, ExerciseFacts]
) -> ChangedSession:
    """Lay changes over a session.

    Args:
        session: as its version prescribes it, the client's substitutes taken.
        changes: what is otherwise.
        exercises: facts by key, of every exercise of the session and of the changes.

    Returns:
        The session, and the changes that have no place in it, which are left out.
    """
    changed = substituted_session(session, changes.swaps, exercises)
    without_place: dict[str, str] = {}
    for slot_key, fields in changes.slots.items():
        placed = with_slot(changed, slot_key, fields, exercises)
        if isinstance(placed, Session):
            changed = placed
        else:
            without_place[slot_key] = placed[0].message
    loaded, accepted, lost = with_accepted_loads(changed, changes.loads)
    if changes.deload is not None:
        changed = _deloaded(changed, changes.deload, exercises)
        loaded = _deloaded(loaded, changes.deload, exercises)
    return ChangedSession(
        session=loaded, without_place={**lost, **without_place}, accepted=accepted, unaccepted=changed
    )


def changed_snapshot(
    session: Session,
    changed: ChangedSession,
    exercises: Mapping[str, ExerciseFacts],
    references: References,
    *,
    unit: LoadUnit,
    steps: Mapping[str, Decimal] | None = None,
) -> SessionSnapshot:
    """Write a session with substitutes and changes out for a client, as `session_snapshot` does.

    In place of another exercise a slot or entry also has `substituted_for` and `substituted_for_name`, and a load
    that did not carry over says so in `resolved_from`. A slot with an accepted load has `accepted_load`, and its sets
    `instead_of`: what would stand there without it.

    Args:
        session: as the program's version prescribes it.
        changed: the same with substitutes and changes, blocks and slots at the same places.
        exercises: facts by key, of every exercise of both.
        references: the client's reference loads, by exercise key and kind.
        unit: the unit that the client loads in.
        steps: the steps of loads where it is done, in that unit, by how an exercise is loaded.
    """
    written = session_snapshot(changed.session, exercises, references, unit=unit, steps=steps)
    for block, own, place in zip(session.blocks, changed.session.blocks, written.prescribed["blocks"], strict=True):
        if block.entry is not None and own.entry is not None and own.entry.exercise != block.entry.exercise:
            place["entry"].update(_replaced(block.entry.exercise, exercises))
        for slot, line in zip(block.slots, place["slots"], strict=True):
            if line["exercise"] != slot.exercise:
                line.update(_replaced(slot.exercise, exercises))
            _tell_lost_loads(slot, line, exercises)
    if changed.accepted and changed.unaccepted is not None:
        unaccepted = replace(changed, session=changed.unaccepted, accepted={})
        plain = changed_snapshot(session, unaccepted, exercises, references, unit=unit, steps=steps)
        _tell_accepted(changed, written.prescribed, plain.prescribed)
    return written


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
        session = _each_slot(session, lambda _block, slot: own if slot.slot_key == slot_key else slot)
    document = encode_session(session)
    block_index, slot_index = _place(session, slot_key)
    document["blocks"][block_index]["slots"][slot_index].update(fields)
    try:
        return decode_session(document)
    except DocumentError as error:
        pointer = f"#/blocks/{block_index}/slots/{slot_index}"
        return [_placed(fault, pointer) for fault in error.faults]


def swapped_changes(changes: SessionChanges, exercise: str, instead: str) -> SessionChanges:
    """Swap an exercise of a session, whatever it stands there for.

    Args:
        changes: what the session has otherwise already.
        exercise: the key of the exercise that is in the session now.
        instead: the key of the exercise to do instead.
    """
    swaps = {key: instead if other == exercise else other for key, other in changes.swaps.items()}
    swaps[exercise] = instead
    return replace(
        changes,
        swaps={key: other for key, other in swaps.items() if key != other},
        slots={key: _swapped_fields(fields, exercise, instead) for key, fields in changes.slots.items()},
    )


def _swapped_fields(fields: SlotFields, exercise: str, instead: str) -> SlotFields:
    if fields.get("exercise") != exercise:
        return fields
    # Loads written for the one say nothing of the other.
    sets = [
        {name: value for name, value in group.items() if name != "load" or value.get("kind") not in _WRITTEN_LOADS}
        for group in fields.get("sets", ())
    ]
    return {**fields, "exercise": instead, **({"sets": sets} if "sets" in fields else {})}


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


def _deloaded(session: Session, rule: Deload, exercises: Mapping[str, ExerciseFacts]) -> Session:
    def lighter(block: Block, slot: Slot) -> Slot:
        apply = apply_in_rounds if in_rounds(block) else apply_rule
        try:
            return apply(rule, slot, _THIS_WEEK, exercises.get(slot.exercise))
        except StepError:
            # A percentage that would leave its range keeps the load; the sets are fewer all the same.
            return apply(replace(rule, load_pct=Decimal(0)), slot, _THIS_WEEK, exercises.get(slot.exercise))

    return _each_slot(session, lighter)


def _each_slot(session: Session, change: Callable[[Block, Slot], Slot]) -> Session:
    return replace(
        session,
        blocks=tuple(
            replace(block, slots=tuple(change(block, slot) for slot in block.slots)) for block in session.blocks
        ),
    )


def _tell_accepted(changed: ChangedSession, written: Mapping[str, Any], plain: Mapping[str, Any]) -> None:
    blocks = zip(changed.session.blocks, written["blocks"], plain["blocks"], strict=True)
    for block, shown, bare in blocks:
        for slot, line, plain_line in zip(block.slots, shown["slots"], bare["slots"], strict=True):
            accepted = changed.accepted.get(slot.slot_key)
            if accepted is not None:
                tell_accepted(line, plain_line, accepted, slot.sets)


def _replaced(key: str, exercises: Mapping[str, ExerciseFacts]) -> dict[str, str]:
    return {"substituted_for": key, "substituted_for_name": exercises[key].name}


def _tell_lost_loads(slot: Slot, line: dict[str, Any], exercises: Mapping[str, ExerciseFacts]) -> None:
    if len(slot.sets) != len(line["sets"]):
        return
    for group, shown in zip(slot.sets, line["sets"], strict=True):
        if group.load is None or "load" in shown:
            continue
        if line["exercise"] == slot.exercise:
            said = f"{load_words(group.load)} does not carry over"
        else:
            name = exercises[slot.exercise].name
            said = f"{load_words(group.load)}, written for {name}, does not carry over to {line['exercise_name']}"
        shown["resolved_from"] = f"By effort: {said}."
