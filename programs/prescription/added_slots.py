"""Added slots as they are kept: each stands beside a slot of the version, alone or with others that were added."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from programs.prescription.document import encode_session
from programs.prescription.session_slots import AddedSlots
from programs.prescription.structure import Session


def with_added_slot(added: Sequence[AddedSlots], new: AddedSlots) -> tuple[AddedSlots, ...]:
    """Add a slot beside one of the version, beside one that was added, or last.

    Beside one that was added it joins that one's block, or becomes a block next to it.

    Args:
        added: what is added already.
        new: one slot.

    Returns:
        Everything that is added; nothing of it stands beside another added slot.
    """
    place = next((place for place, entry in enumerate(added) if new.beside in entry.slot_keys), None)
    if place is None:
        # What comes after a slot is kept nearest first.
        nearest_first = new.beside is not None and not new.before
        return (new, *added) if nearest_first else (*added, new)
    beside = added[place]
    if new.block is None:
        at = beside.slot_keys.index(str(new.beside)) + (not new.before)
        joined = replace(beside, slots=(*beside.slots[:at], *new.slots, *beside.slots[at:]))
        return (*added[:place], joined, *added[place + 1 :])
    at = place + (not new.before)
    return (*added[:at], replace(new, beside=beside.beside, before=beside.before), *added[at:])


def without_added_slots(added: Sequence[AddedSlots], slot_keys: Collection[str]) -> tuple[AddedSlots, ...]:
    """Take added slots back.

    Args:
        added: what is added.
        slot_keys: the keys of those that go.
    """
    left = (
        replace(entry, slots=tuple(slot for slot in entry.slots if slot["slot_key"] not in slot_keys))
        for entry in added
    )
    return tuple(entry for entry in left if entry.slots)


def written_additions(
    added: Sequence[AddedSlots], session: Session, slot_keys: Collection[str]
) -> tuple[AddedSlots, ...]:
    """Put newly added slots into the form in which they are kept: as the document writes them.

    Args:
        added: what is added, the new ones as they were sent.
        session: the session with them in it.
        slot_keys: the keys of the new ones.
    """
    blocks = encode_session(session)["blocks"]
    return tuple(_written(entry, blocks, slot_keys) for entry in added)


def _written(entry: AddedSlots, blocks: Sequence[Mapping[str, Any]], slot_keys: Collection[str]) -> AddedSlots:
    if not any(key in slot_keys for key in entry.slot_keys):
        return entry
    home = next(block for block in blocks if entry.slot_keys[0] in {slot["slot_key"] for slot in block["slots"]})
    document = {slot["slot_key"]: slot for slot in home["slots"]}
    slots = tuple(_slots(entry, document, slot_keys))
    if entry.block is None:
        return replace(entry, slots=slots)
    return replace(entry, slots=slots, block={name: value for name, value in home.items() if name != "slots"})


def _slots(
    entry: AddedSlots, document: Mapping[str, Mapping[str, Any]], slot_keys: Collection[str]
) -> Iterator[Mapping[str, Any]]:
    for slot in entry.slots:
        key = slot["slot_key"]
        # The rest that a slot has because it is left alone is not its own.
        yield {**document[key], "rest_s": slot.get("rest_s")} if key in slot_keys else slot
