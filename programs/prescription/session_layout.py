"""A session's blocks as documents, into which slots are put and from which they are taken."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Self

_FREE_KINDS: Final = frozenset({"straight", "paired"})
"""Kinds of block that become one another with the number of their slots. Practice."""


@dataclass(slots=True)
class BlockLayout:
    """A block under way: its document without slots, and its slots' documents.

    ``touched`` are the keys of the slots that were put in or taken out; ``new`` is whether the block was put in.
    """

    document: dict[str, Any]
    slots: list[dict[str, Any]]
    new: bool = False
    touched: list[str] = field(default_factory=list)
    round_rest_s: int | None = None


@dataclass(slots=True)
class Layout:
    """A session under way: the fields of its document without blocks, and its blocks."""

    fields: dict[str, Any]
    blocks: list[BlockLayout]

    @classmethod
    def of(cls, document: Mapping[str, Any]) -> Self:
        """Lay out a session as `encode_session` writes it."""
        fields = {name: value for name, value in document.items() if name != "blocks"}
        return cls(fields, [_laid(block) for block in document["blocks"]])

    @property
    def slots(self) -> list[dict[str, Any]]:
        """The documents of all slots, in the order written."""
        return [slot for block in self.blocks for slot in block.slots]

    def add(
        self, slots: Sequence[Mapping[str, Any]], *, block: Mapping[str, Any] | None, beside: str | None, before: bool
    ) -> None:
        """Put slots in: into the block of a slot, or as a block of their own next to it or last.

        Args:
            slots: their documents.
            block: the document of the block that they are, None to put them into another.
            beside: the slot next to which they come, which must be there; None for last.
            before: whether they come before it.
        """
        new = [dict(slot) for slot in slots]
        place, home = next(
            ((place, found) for place, found in enumerate(self.blocks) if beside in slot_keys(found.slots)),
            (len(self.blocks) - 1, None),
        )
        if block is not None or home is None:
            made = BlockLayout(dict(block or {"kind": "straight"}), new, new=True, touched=slot_keys(new))
            made.round_rest_s = _round_rest_s(made)
            self.blocks.insert(place if before else place + 1, made)
            return
        at = slot_keys(home.slots).index(str(beside)) + (not before)
        home.slots[at:at] = new
        home.touched += slot_keys(new)

    def take_out(self, slot_key: str) -> None:
        """Take a slot out, and with the last of a block the block."""
        for block in self.blocks:
            if slot_key in slot_keys(block.slots):
                block.slots = [slot for slot in block.slots if slot["slot_key"] != slot_key]
                block.touched.append(slot_key)
        self.blocks = [block for block in self.blocks if block.slots]

    def fit_kinds(self) -> None:
        """Make pairs of straight blocks that have become several slots, and straight blocks of pairs left with one."""
        for block in self.blocks:
            if not block.touched or block.document.get("kind") not in _FREE_KINDS:
                continue
            if len(block.slots) > 1:
                block.document["kind"] = "paired"
            elif block.document["kind"] == "paired":
                _leave_alone(block)

    def document(self) -> dict[str, Any]:
        """Write the session."""
        return {**self.fields, "blocks": [{**block.document, "slots": block.slots} for block in self.blocks]}


def slot_keys(slots: Iterable[Mapping[str, Any]]) -> list[str]:
    """Give the keys of slots' documents, in order."""
    return [slot["slot_key"] for slot in slots]


def _laid(block: Mapping[str, Any]) -> BlockLayout:
    document = {name: value for name, value in block.items() if name != "slots"}
    laid = BlockLayout(document, [dict(slot) for slot in block["slots"]])
    laid.round_rest_s = _round_rest_s(laid)
    return laid


def _round_rest_s(block: BlockLayout) -> int | None:
    said = block.document.get("rest_between_rounds_s")
    rest_s = block.slots[-1].get("rest_s") if said is None else said
    return rest_s if isinstance(rest_s, int) else None


def _leave_alone(block: BlockLayout) -> None:
    (slot,) = block.slots
    rest_s = slot.get("rest_s")
    between_s = block.document.pop("rest_between_rounds_s", None)
    block.document["kind"] = "straight"
    if block.round_rest_s is None or (rest_s is None and between_s is None):
        return
    slot["rest_s"] = max(block.round_rest_s, rest_s if isinstance(rest_s, int) else 0)
