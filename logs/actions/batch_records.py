"""A batch as a whole: filed under its source, all or nothing where asked, and kept for its sender to look up."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from coaching.policy import OWN_SOURCE, Principal
from coaching.refusals import Invalid
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from logs.actions.cautions import Caution, cautions_of
from logs.actions.log_batches import is_of_erased, record_logs
from logs.actions.log_fields import KINDS, LISTS, Item, Kind, Result

_COUNTED: Final[tuple[Result, ...]] = ("created", "unchanged", "corrected", "refused", "held")
_PROBLEMS_KEPT: Final = 500


@dataclass(frozen=True, slots=True)
class RecordedBatch:
    """What became of a batch.

    Attributes:
        id: of the record kept of it; None where nothing was stored.
        summary: how many items met which end.
        items: in the order sent, kind by kind.
        cautions: what must be said at once.
        problems: of what was refused or held, as they are kept.
    """

    id: UUID | None
    summary: dict[str, int]
    items: list[Item]
    cautions: list[Caution]
    problems: list[dict[str, Any]]


def record_log_batch(
    *, actor: Principal, source: str | None, items: Mapping[Kind, Sequence[Item]], strict: bool, now: datetime
) -> RecordedBatch:
    """Take a batch.

    Args:
        actor: who sends it.
        source: what the body names, None for nothing.
        items: by kind, in the order sent, with the faults that reading found.
        strict: all or nothing: with any item refused, the caller must roll the transaction back, and the
            items that were not refused are `not_stored`.
        now: when it was received.

    Raises:
        Invalid: the source is not the one that is fixed on the key.
    """
    filed_under = source_for(actor, source)
    record_logs(actor=actor, source=filed_under, items=items, now=now)
    listed = [item for kind in KINDS for item in items.get(kind, ())]
    if strict and any(item.faults for item in listed):
        return _nothing_stored(listed)
    counts = Counter(item.result for item in listed)
    summary: dict[str, int] = {name: counts[name] for name in _COUNTED}
    problems = [_problem(item) for item in listed if item.result in ("refused", "held")]
    batch_id = new_id()
    _keep(batch_id, actor, filed_under, summary=summary, problems=problems, now=now)
    return RecordedBatch(batch_id, summary, listed, cautions_of(listed), problems)


def _keep(
    batch_id: UUID,
    actor: Principal,
    source: str,
    *,
    summary: dict[str, int],
    problems: list[dict[str, Any]],
    now: datetime,
) -> None:
    # Not by the model: building its statement costs a small batch as much as running it.
    values: list[Any] = [batch_id, current_business_id(), source, actor.credential_id, now]
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO logs_logbatch (id, business_id, source, credential_id, received_at, counts, problems)"
            " VALUES (%s, %s, %s, %s, %s, %s::jsonb, %s::jsonb)",
            [*values, _json(summary), _json(problems[:_PROBLEMS_KEPT])],
        )


def _json(value: Any) -> str:
    return orjson.dumps(value).decode()


def source_for(actor: Principal, named: str | None) -> str:
    """Return what an actor's logs are filed under.

    Raises:
        Invalid: the key, or the client's account, has another source, which is fixed.
    """
    if actor.source and named is not None and named != actor.source:
        raise Invalid.at(
            "#/source",
            f"{_whose(actor)} logs are filed under {actor.source!r}; leave source out, or send that.",
            "source_differs",
        )
    return actor.source or named or OWN_SOURCE


def _whose(actor: Principal) -> str:
    return "This key's" if actor.kind == "key" else "Your"


def _nothing_stored(items: Sequence[Item]) -> RecordedBatch:
    for item in items:
        item.id = None
        if not item.faults:
            item.result, item.superseded = "not_stored", False
    counts = Counter(item.result for item in items)
    summary: dict[str, int] = {name: 0 for name in _COUNTED}  # noqa: C420 -- typed by its keys otherwise
    summary |= {"refused": counts["refused"], "not_stored": counts["not_stored"]}
    return RecordedBatch(None, summary, list(items), cautions_of(items), [_problem(one) for one in _refused(items)])


def _refused(items: Iterable[Item]) -> list[Item]:
    return [item for item in items if item.faults]


def _named_client(item: Item) -> str | None:
    """Return the id that an item names as its client's, by which an erasure finds it."""
    if item.client_id:
        return item.client_id
    try:
        return str(UUID(item.fields.get("client")))
    except (ValueError, TypeError, AttributeError):
        return None


def _problem(item: Item) -> dict[str, Any]:
    waits = "" if item.faults else f"Waits for the session {item.fields['session_external_id']!r}."
    return {
        "kind": item.kind,
        "index": item.index,
        "client": _named_client(item),
        # Of somebody who was erased nothing of their own is kept.
        "external_id": "" if is_of_erased(item) else item.external_id,
        "outcome": item.result,
        "detail": item.faults[0].detail if item.faults else waits,
        "errors": [
            {
                "pointer": f"#/{LISTS[item.kind]}/{item.index}" + (f"/{fault.field}" if fault.field else ""),
                "code": fault.code,
                "detail": fault.detail,
            }
            for fault in item.faults
        ],
    }
