"""Batches received, and sets that wait for their session."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from coaching.models import Role
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from logs.models import HeldItem, LogBatch
from logs.selectors.visible_clients import require_visible_client

_ALL_BATCHES = frozenset({Role.OWNER, Role.HEAD_COACH})


def list_log_batches(*, actor: Principal) -> QuerySet[LogBatch, Any]:
    """Return the batches that the caller sent; an owner and a head coach see everybody's."""
    rows = LogBatch.objects.all()
    if actor.role not in _ALL_BATCHES:
        rows = rows.filter(credential_id=actor.credential_id)
    return rows.values("id", "source", "received_at", "counts")


def get_log_batch(*, actor: Principal, log_batch_id: UUID) -> dict[str, Any]:
    """Return a batch with the problems of its items.

    Raises:
        NotFound: no such batch that the caller may see.
    """
    found = (
        list_log_batches(actor=actor)
        .filter(id=log_batch_id)
        .values("id", "source", "received_at", "counts", "problems")
    )
    batch: Any = found.first()
    if batch is None:
        raise NotFound("There is no log batch with this id that you may see.")
    return dict(batch)


def list_held_items(*, actor: Principal, client_id: UUID | None = None) -> QuerySet[HeldItem, Any]:
    """Return the sets that wait for their session, of clients whom the caller may see.

    Raises:
        UnknownObject: the client filtered by is not one of them.
    """
    rows = HeldItem.objects.filter(client_rows(actor))
    if client_id is not None:
        require_visible_client(actor=actor, client_id=client_id)
        rows = rows.filter(client_id=client_id)
    if actor.kind == "key" and actor.source:
        rows = rows.filter(source=actor.source)
    return rows.values(
        "id", "client_id", "source", "external_id", "session_external_id", "item", "received_at", "expires_at"
    )
