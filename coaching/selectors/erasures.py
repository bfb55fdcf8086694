"""Who was erased, as far as a caller may know."""

from collections.abc import Iterable
from typing import Any, Final
from uuid import UUID

from django.db import connections
from django.db.models import QuerySet

from coaching.models.erasures import Erasure
from coaching.models.people import Role
from coaching.policy import Principal

_HEADS: Final = frozenset({Role.OWNER, Role.HEAD_COACH})


def list_businesses_with_ledgers() -> list[UUID]:
    """Return every business, those that are closed among them: a backup brings their people back too.

    Read as the owner: the service asks for active ones only.
    """
    with connections["owner"].cursor() as cursor:
        cursor.execute("SELECT id FROM coaching_business ORDER BY id")
        return [row[0] for row in cursor.fetchall()]


def list_erasures() -> QuerySet[Erasure, Any]:
    """Return the ledger of the business."""
    return Erasure.objects.values("id", "client_id", "erased_at", "erased_by", "counts")


def find_erased_clients(*, actor: Principal, texts: Iterable[str]) -> set[str]:
    """Return which texts are the ids of clients who were erased, of those whose logs the caller could write.

    To everybody else they are ids like any that never were.
    """
    ids = _ids(texts)
    if not ids:
        return set()
    rows = Erasure.objects.filter(client_id__in=set(ids.values()))
    erased = {
        client_id
        for client_id, coach_id, key_ids in rows.values_list("client_id", "coach_id", "key_ids")
        if _knew(actor, coach_id, key_ids)
    }
    return {text for text, client_id in ids.items() if client_id in erased}


def _knew(actor: Principal, coach_id: UUID | None, key_ids: list[UUID]) -> bool:
    if actor.kind == "key":
        return actor.client_ids is None or actor.credential_id in key_ids
    return actor.role in _HEADS or (actor.role == Role.COACH and actor.membership_id == coach_id)


def _ids(texts: Iterable[str]) -> dict[str, UUID]:
    ids: dict[str, UUID] = {}
    for text in texts:
        try:
            ids[text] = UUID(text)
        except ValueError:
            continue
    return ids
