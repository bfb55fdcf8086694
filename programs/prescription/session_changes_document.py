"""What one client's session has otherwise, as it is kept: a JSON object, rules only."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from programs.prescription.accepted_loads import encode_accepted_load, read_accepted_load
from programs.prescription.progression_rules import Deload
from programs.prescription.session_changes import SessionChanges
from programs.prescription.session_slots import AddedSlots


def read_changes(document: Mapping[str, Any] | None) -> SessionChanges:
    """Read changes as they are kept; None is no change."""
    kept = document or {}
    deload = kept.get("deload")
    return SessionChanges(
        added=tuple(_read_added(added) for added in kept.get("added", ())),
        removed=tuple(kept.get("removed", ())),
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
    if changes.added:
        kept["added"] = [_encode_added(added) for added in changes.added]
    if changes.removed:
        kept["removed"] = list(changes.removed)
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


def renamed_changes(document: Mapping[str, Any], before: str, after: str) -> dict[str, Any]:
    """Name an exercise otherwise in changes as they are kept.

    Args:
        document: the changes.
        before: the exercise's key until now.
        after: its key from now on.
    """

    def named(part: Mapping[str, Any]) -> dict[str, Any]:
        return {**part, "exercise": after} if part.get("exercise") == before else dict(part)

    def key_of(key: str) -> str:
        return after if key == before else key

    renamed = dict(document)
    if "added" in document:
        renamed["added"] = [_renamed_added(added, named) for added in document["added"]]
    if "swaps" in document:
        swaps = {key_of(key): key_of(other) for key, other in document["swaps"].items()}
        renamed["swaps"] = {key: other for key, other in swaps.items() if key != other}
    for by_slot in ("slots", "loads"):
        if by_slot in document:
            renamed[by_slot] = {slot_key: named(part) for slot_key, part in document[by_slot].items()}
    return renamed


def _read_added(document: Mapping[str, Any]) -> AddedSlots:
    return AddedSlots(
        slots=tuple(document["slots"]),
        block=document.get("block"),
        beside=document.get("before", document.get("after")),
        before="before" in document,
    )


def _encode_added(added: AddedSlots) -> dict[str, Any]:
    kept: dict[str, Any] = {"slots": [dict(slot) for slot in added.slots]}
    if added.block is not None:
        kept["block"] = dict(added.block)
    if added.beside is not None:
        kept["before" if added.before else "after"] = added.beside
    return kept


def _renamed_added(added: Mapping[str, Any], named: Callable[[Mapping[str, Any]], dict[str, Any]]) -> dict[str, Any]:
    renamed = {**added, "slots": [named(slot) for slot in added["slots"]]}
    entry = added.get("block", {}).get("entry")
    if entry is not None:
        renamed["block"] = {**added["block"], "entry": named(entry)}
    return renamed
