"""Reading a written-out session back into its structure."""

from collections.abc import Mapping
from typing import Any

from programs.prescription.document import decode_session
from programs.prescription.document_fields import BlockPart, EntryPart, SessionPart, SetGroupPart, SlotPart
from programs.prescription.document_values import DocumentPart
from programs.prescription.structure import Session


def snapshot_session(prescribed: Mapping[str, Any]) -> Session:
    """Read the session of a client's document.

    What `session_snapshot` and later changes put beside the prescription (names, resolved loads) is passed over,
    so that blocks, slots and set groups stand at the same places in both.

    Args:
        prescribed: the document, as stored.

    Raises:
        DocumentError: the document prescribes nothing that can be followed.
    """
    session = _own(SessionPart, prescribed)
    session["blocks"] = [_block(block) for block in prescribed.get("blocks", ())]
    return decode_session(session)


def listed_times(block: Mapping[str, Any], slot: Mapping[str, Any]) -> int:
    """Say how often a written-out block's rounds repeat what one of its slots lists.

    A slot that lists several sets has one for each round already.
    """
    rounds = block.get("rounds") or 1
    return rounds if sum(group.get("count", 1) for group in slot["sets"]) == 1 else 1


def _block(block: Mapping[str, Any]) -> dict[str, Any]:
    own = _own(BlockPart, block)
    if own.get("entry") is not None:
        own["entry"] = _own(EntryPart, own["entry"])
    own["slots"] = [_slot(slot) for slot in block["slots"]]
    return own


def _slot(slot: Mapping[str, Any]) -> dict[str, Any]:
    return _own(SlotPart, slot) | {"sets": [_own(SetGroupPart, group) for group in slot["sets"]]}


def _own(part: type[DocumentPart], document: Mapping[str, Any]) -> dict[str, Any]:
    return {name: document[name] for name in part.model_fields if name in document}
