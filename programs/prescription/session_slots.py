"""Which slots one session has otherwise than its version: added ones, and those that are taken out.

Both are rules laid over the version's session. Added slots stand beside a slot of the version, so that they keep their
place when other slots come and go. What a rule leaves of a block stays one that can be performed:

- a pair left with one slot becomes straight, and a straight block with a second slot a pair. The one left alone keeps
  the rest that ended its round where that is longer: the short rest before its partner is none between its own sets;
- a block left with no slot is gone, with its entry piece and its clock;
- any other block with too few or too many slots, a load taken from a slot that is gone, or a session with nothing left
  in it are refused: the rule is left out, and a sentence says why.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from programs.prescription.document import DocumentError, DocumentFault, decode_session, encode_session
from programs.prescription.session_layout import Layout, slot_keys
from programs.prescription.set_rules import is_object, items
from programs.prescription.structure import Session

SlotDocument = Mapping[str, Any]
SlotFields = Mapping[str, Any]

_BLOCK_STEPS: Final = 2
"""Steps of a block's pointer, `#/blocks/0`. Practice."""

_SLOT_STEPS: Final = 4
"""Steps of a slot's pointer, `#/blocks/0/slots/0`. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedSlots:
    """Slots that a session has more than its version, one after the other.

    ``slots`` are their documents, at least one. ``beside`` is the version's slot next to which they stand, ``before``
    on which side of it; None puts them last. With ``block``, the document of a block without its slots, they are a
    block of their own next to the block of ``beside``; else they stand in that block.
    """

    slots: tuple[SlotDocument, ...]
    block: Mapping[str, Any] | None = None
    beside: str | None = None
    before: bool = False

    @property
    def slot_keys(self) -> tuple[str, ...]:
        """The slots' keys, in order."""
        return tuple(slot["slot_key"] for slot in self.slots)

    @property
    def exercises(self) -> frozenset[str]:
        """The keys of the exercises that they bring in."""
        entry = (self.block or {}).get("entry")
        own = {slot["exercise"] for slot in self.slots}
        return frozenset(own | {entry["exercise"]} if is_object(entry) else own)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReslottedSession:
    """A session with its slots added and taken out; by slot_key, what is wrong with a rule that was left out.

    A fault's pointer is inside what adds or takes out the slot: `#/sets/0/reps_low`, `#/add/block/rounds`.
    """

    session: Session
    faults: Mapping[str, tuple[DocumentFault, ...]] = field(default_factory=dict)


def reslotted_session(
    session: Session, added: Sequence[AddedSlots], removed: Collection[str], changed: Mapping[str, SlotFields]
) -> ReslottedSession:
    """Add slots to a session and take slots out.

    Args:
        session: as its version prescribes it.
        added: what is added.
        removed: the keys of the version's slots that are taken out.
        changed: fields of slots that will be changed after; sets that will be others take no load from a slot now.

    Returns:
        The session. Rules that can't be laid are left out, as few as the faults name, and the rest is laid.
    """
    if not added and not removed:
        return ReslottedSession(session=session)
    faults = dict(_without_ground(session, added, removed))
    while True:
        now = [key for entry in added for key in entry.slot_keys if key not in faults]
        out = [key for key in removed if key not in faults]
        if not now and not out:
            return ReslottedSession(session=session, faults=faults)
        found = _Laid(_layout(session, added, now, out), now, out, changed).result()
        if isinstance(found, Session):
            return ReslottedSession(session=found, faults=faults)
        faults |= found


def block_slot_keys(
    session: Session, added: Sequence[AddedSlots], removed: Collection[str], slot_key: str
) -> tuple[str, ...]:
    """Give the keys of all slots that stand in one block with a slot; none where it is not in the session.

    Args:
        session: as its version prescribes it.
        added: what is added to it.
        removed: the keys of the slots that are taken out.
        slot_key: the slot.
    """
    lost = dict(_without_ground(session, added, removed))
    now = [key for entry in added for key in entry.slot_keys if key not in lost]
    for block in _layout(session, added, now, removed).blocks:
        if slot_key in slot_keys(block.slots):
            return tuple(slot_keys(block.slots))
    return ()


def _layout(session: Session, added: Sequence[AddedSlots], now: Collection[str], removed: Collection[str]) -> Layout:
    layout = Layout.of(encode_session(session))
    # What was put after a slot first stands last, so that each later one stands right beside the slot.
    after = [entry for entry in added if entry.beside is not None and not entry.before]
    for entry in (*(entry for entry in added if entry not in after), *reversed(after)):
        slots = [slot for slot in entry.slots if slot["slot_key"] in now]
        if slots:
            layout.add(slots, block=entry.block, beside=entry.beside, before=entry.before)
    for key in removed:
        layout.take_out(key)
    layout.fit_kinds()
    return layout


def _without_ground(
    session: Session, added: Sequence[AddedSlots], removed: Collection[str]
) -> Iterator[tuple[str, tuple[DocumentFault, ...]]]:
    own = [slot.slot_key for slot in session.slots]
    there = ", ".join(own)
    for entry in added:
        for key in entry.slot_keys:
            if key in own:
                said = f"The version has a slot {key} of its own now; add yours under another slot_key."
                yield key, (_fault("#/slot_key", "slot_key_repeated", said),)
            elif entry.beside is not None and entry.beside not in own:
                said = f"{key} was added beside {entry.beside}; the session has the slots {there}, and no such one."
                yield key, (_fault("#/add", "unknown_slot", said),)
    for key in removed:
        if key not in own:
            said = f"{key} was taken out; the session has the slots {there}, and no such one."
            yield key, (_fault("#/slot_key", "unknown_slot", said),)


@dataclass(frozen=True, slots=True)
class _Laid:
    """A session as it is laid out anew, before anything is known of whether it can be performed."""

    layout: Layout
    added: Collection[str]
    removed: Collection[str]
    changed: Mapping[str, SlotFields]

    def result(self) -> Session | dict[str, tuple[DocumentFault, ...]]:
        """Read the session, or say which rules must be left out and why: one at least."""
        if not self.layout.blocks:
            said = "Nothing would be left of the session; excuse it instead."
            return {key: (_fault("#/slot_key", "nothing_left", said),) for key in self.removed}
        stranded = self._stranded()
        if stranded:
            return stranded
        try:
            return decode_session(self.layout.document())
        except DocumentError as error:
            found: dict[str, tuple[DocumentFault, ...]] = {}
            for fault in error.faults:
                for key, told in self._blamed(fault):
                    found[key] = (*found.get(key, ()), told)
            return found

    def _stranded(self) -> dict[str, tuple[DocumentFault, ...]]:
        """Find loads that are taken from a slot which is gone; sets that will be others lose theirs."""
        found: dict[str, tuple[DocumentFault, ...]] = {}
        there = frozenset(slot_keys(self.layout.slots))
        for slot in self.layout.slots:
            fields = self.changed.get(slot["slot_key"], {})
            if "sets" in fields:
                slot["sets"] = [_unless_taken(group, there) for group in slot["sets"]]
            for other in _takes_from(fields if "sets" in fields else slot) - there:
                found.update(self._without_load(slot["slot_key"], other))
        return found

    def _without_load(self, key: str, other: str) -> Iterator[tuple[str, tuple[DocumentFault, ...]]]:
        if other in self.removed:
            said = f"{key} takes its load from {other}: give {key} another load, or take it out too."
            yield other, (_fault("#/slot_key", "load_of_removed_slot", said),)
        elif key in self.added:
            said = f"{key} takes its load from {other}, and the session has no such slot; name another load."
            yield key, (_fault("#/sets", "unknown_slot", said),)

    def _blamed(self, fault: DocumentFault) -> Iterator[tuple[str, DocumentFault]]:
        _document, *steps = fault.pointer.split("/")
        everything = (*self.added, *self.removed)
        if steps[:1] != ["blocks"] or len(steps) < _BLOCK_STEPS:
            yield from ((key, replace(fault, pointer="#/slot_key")) for key in everything)
            return
        block, inside = self.layout.blocks[int(steps[1])], steps[_BLOCK_STEPS:]
        key = block.slots[int(steps[3])]["slot_key"] if inside[:1] == ["slots"] and inside[1:] else ""
        if key in self.added:
            yield key, replace(fault, pointer="/".join(["#", *steps[_SLOT_STEPS:]]))
        elif block.new and inside != ["slots"]:
            yield block.touched[0], replace(fault, pointer="/".join(["#/add/block", *inside]))
        else:
            said = f"The block of {block.slots[0]['slot_key']}: {fault.message}"
            told = replace(fault, pointer="#/slot_key", message=said)
            yield from ((touched, told) for touched in block.touched or everything)


def _takes_from(slot: SlotFields) -> set[str]:
    loads = [group.get("load") for _, group in items(slot, "sets")]
    taken = [load.get("slot_key") for load in loads if is_object(load) and load.get("kind") == "same_as"]
    return {key for key in taken if isinstance(key, str)}


def _unless_taken(group: Mapping[str, Any], there: Collection[str]) -> Mapping[str, Any]:
    load = group.get("load")
    if not is_object(load) or load.get("kind") != "same_as" or load.get("slot_key") in there:
        return group
    return {name: value for name, value in group.items() if name != "load"}


def _fault(pointer: str, code: str, message: str) -> DocumentFault:
    return DocumentFault(pointer=pointer, code=code, message=message)
