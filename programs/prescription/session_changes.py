"""What one client's session has otherwise than its version: swaps, changed slots, and a deload of its own.

Changes are rules laid over the version's session, not a copy of it, so that they hold when the version changes.
Swaps come first, then the slots, then the deload.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Final

from programs.prescription.document import DocumentError, DocumentFault, decode_session, encode_session
from programs.prescription.progression_rules import Deload
from programs.prescription.progression_steps import StepError, SteppedWeek, apply_rule
from programs.prescription.structure import AbsoluteLoad, BandLoad, Block, ExerciseFacts, Session, SetGroup, Slot
from programs.prescription.vocabulary import RESTED_BLOCK_KINDS

SLOT_FIELDS: Final = ("exercise", "sets", "rest_s", "notes")
"""What of a slot can be changed. Practice."""

_THIS_WEEK: Final = SteppedWeek(week_number=2, deload_weeks=(2,))
"""A deload of one session is reckoned as that of a program's deload week. Practice."""

SlotFields = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionChanges:
    """Changes of one session.

    ``swaps`` gives the exercise instead, by exercise key; ``slots`` the changed fields of a slot's document, by
    slot_key; ``deload`` what it makes lighter.
    """

    swaps: Mapping[str, str] = field(default_factory=dict)
    slots: Mapping[str, SlotFields] = field(default_factory=dict)
    deload: Deload | None = None

    @property
    def exercises(self) -> frozenset[str]:
        """The keys of the exercises that the changes bring in."""
        named = {fields["exercise"] for fields in self.slots.values() if fields.get("exercise")}
        return frozenset(named | set(self.swaps.values()))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedSession:
    """A session with its changes, and a sentence by slot_key for each change that has no place in it."""

    session: Session
    without_place: Mapping[str, str]


def read_changes(document: Mapping[str, Any] | None) -> SessionChanges:
    """Read changes as they are kept; None is no change."""
    kept = document or {}
    deload = kept.get("deload")
    return SessionChanges(
        swaps=kept.get("swaps", {}),
        slots=kept.get("slots", {}),
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
        exercises: facts by exercise key; what is missing is rounded to plates.

    Returns:
        The session, and the changes that have no place in it, which are left out.
    """
    changed = swapped_session(session, changes.swaps)
    without_place: dict[str, str] = {}
    for slot_key, fields in changes.slots.items():
        placed = _with_slot(changed, slot_key, fields)
        if isinstance(placed, Session):
            changed = placed
        else:
            without_place[slot_key] = placed[0].message
    if changes.deload is not None:
        changed = _deloaded(changed, changes.deload, exercises)
    return ChangedSession(session=changed, without_place=without_place)


def swapped_session(session: Session, swaps: Mapping[str, str]) -> Session:
    """Give a session with other exercises in its slots.

    Loads written in kilograms, pounds or bands are for the exercise that they were written for: they go by effort
    instead. Percentages are taken of the new exercise's own references.

    Args:
        session: the session.
        swaps: the exercise instead, by exercise key.
    """
    if not swaps:
        return session
    return _each_slot(session, lambda _block, slot: swapped_slot(slot, swaps.get(slot.exercise, slot.exercise)))


def swapped_slot(slot: Slot, exercise: str) -> Slot:
    """Give a slot with another exercise; what was written for the old one goes by effort."""
    if exercise == slot.exercise:
        return slot
    return replace(slot, exercise=exercise, sets=tuple(_by_effort(group) for group in slot.sets))


def slot_change_faults(session: Session, slots: Sequence[tuple[str, SlotFields]]) -> list[DocumentFault]:
    """Find what is wrong with changes of slots, each at its place in the list: `#/0/sets/1/reps_low`.

    Args:
        session: the session that they are for.
        slots: slot_key and changed fields.
    """
    faults: list[DocumentFault] = []
    for index, (slot_key, fields) in enumerate(slots):
        placed = _with_slot(session, slot_key, fields)
        if isinstance(placed, Session):
            session = placed
        else:
            faults += [replace(fault, pointer=f"#/{index}{fault.pointer.removeprefix('#')}") for fault in placed]
    return faults


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


def _with_slot(session: Session, slot_key: str, fields: SlotFields) -> Session | list[DocumentFault]:
    found = next((slot for slot in session.slots if slot.slot_key == slot_key), None)
    if found is None:
        there = ", ".join(slot.slot_key for slot in session.slots)
        return [
            DocumentFault(pointer="#/slot_key", code="unknown_slot", message=f"The session has {there}; no {slot_key}.")
        ]
    if fields.get("exercise") and "sets" not in fields:
        swapped = swapped_slot(found, str(fields["exercise"]))
        session = _each_slot(session, lambda _block, slot: swapped if slot.slot_key == slot_key else slot)
    document = encode_session(session)
    place = _place(session, slot_key)
    document["blocks"][place[0]]["slots"][place[1]].update(fields)
    try:
        return decode_session(document)
    except DocumentError as error:
        return [_placed(fault, f"#/blocks/{place[0]}/slots/{place[1]}") for fault in error.faults]


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
        try:
            made = apply_rule(rule, slot, _THIS_WEEK, exercises.get(slot.exercise))
        except StepError:
            # A percentage that would leave its range keeps the load; the sets are fewer all the same.
            made = apply_rule(replace(rule, load_pct=Decimal(0)), slot, _THIS_WEEK, exercises.get(slot.exercise))
        if block.rounds is None and block.kind in RESTED_BLOCK_KINDS:
            return made
        # The block's rounds repeat one set of each slot: that number may not change.
        counts = zip(made.sets, slot.sets, strict=True)
        return replace(made, sets=tuple(replace(group, count=first.count) for group, first in counts))

    return _each_slot(session, lighter)


def _each_slot(session: Session, change: Callable[[Block, Slot], Slot]) -> Session:
    return replace(
        session,
        blocks=tuple(
            replace(block, slots=tuple(change(block, slot) for slot in block.slots)) for block in session.blocks
        ),
    )


def _by_effort(group: SetGroup) -> SetGroup:
    return replace(group, load=None) if isinstance(group.load, AbsoluteLoad | BandLoad) else group
