"""A batch's answer: what became of each item, in the order sent."""

from collections.abc import Iterable
from typing import Any, Final

from logs.actions.batch_records import RecordedBatch
from logs.actions.cautions import Caution, names_a_client
from logs.actions.log_batches import ClientErased
from logs.actions.log_fields import LISTS, Item

_UNKNOWN: Final = frozenset({"unknown_object", ClientErased.code})


def show_recorded(batch: RecordedBatch) -> dict[str, Any]:
    """Return the whole answer."""
    return {
        "id": batch.id,
        "summary": batch.summary,
        "items": [show_outcome(item) for item in batch.items],
        "cautions": show_cautions(batch.cautions),
    }


def show_kept(batch: RecordedBatch) -> dict[str, Any]:
    """Return what a replay answers: all but the list of items, whose problems are kept with the batch."""
    return {
        "id": batch.id,
        "summary": batch.summary,
        "batch_url": f"/api/v1/log-batches/{batch.id}",
        "problems": batch.problems,
        "cautions": show_cautions(batch.cautions),
    }


def show_outcome(item: Item) -> dict[str, Any]:
    """Return what became of an item."""
    shown: dict[str, Any] = {
        "kind": item.kind,
        "index": item.index,
        "external_id": item.external_id,
        "outcome": item.result,
        "id": item.id,
    }
    if item.faults:
        shown["id"] = None
        shown["problem"] = _problem(item)
    if item.superseded:
        shown["superseded"] = True
    if item.result == "held":
        shown["id"] = None
        shown["waits_for"] = item.fields["session_external_id"]
    if item.notes:
        shown["notes"] = item.notes
    return shown


def show_cautions(cautions: Iterable[Caution]) -> list[dict[str, Any]]:
    """Return what must be said at once."""
    return [
        {
            "client": _client(caution.item),
            "pointer": caution.item.pointer,
            "action": caution.said.action,
            "urgency": caution.said.urgency,
            "text": caution.said.sentence,
        }
        for caution in cautions
    ]


def _client(item: Item) -> Any:
    return (item.client_id or item.fields.get("client")) if names_a_client(item) else None


def _problem(item: Item) -> dict[str, Any]:
    code = "unknown_object" if all(fault.code in _UNKNOWN for fault in item.faults) else "invalid"
    return {
        "type": f"/docs/problems/{code}",
        "code": item.faults[0].code,
        "detail": item.faults[0].detail,
        "errors": [
            {
                "pointer": f"#/{LISTS[item.kind]}/{item.index}" + (f"/{fault.field}" if fault.field else ""),
                "code": fault.code,
                "detail": fault.detail,
            }
            for fault in item.faults
        ],
    }
