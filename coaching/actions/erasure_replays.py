"""Erase again whom a restored backup brought back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from coaching.actions.audit_trail import record_command
from coaching.actions.erasures import erase_rows
from coaching.models.businesses import Business
from coaching.models.erasures import Erasure
from coaching.tenancy.scope import business_scope


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """A row of the ledger, as it is exported."""

    business_id: UUID
    client_id: UUID
    erased_at: datetime
    erased_by: UUID | None
    coach_id: UUID | None
    key_ids: tuple[UUID, ...]
    counts: dict[str, int]


def list_ledger(*, business_ids: Iterable[UUID]) -> list[LedgerRow]:
    """Return the ledgers of businesses, oldest erasure first in each."""
    rows: list[LedgerRow] = []
    for business_id in business_ids:
        with business_scope(business_id):
            rows += [_row(business_id, one) for one in Erasure.objects.order_by("erased_at", "id")]
    return rows


def replay_erasures(*, rows: Iterable[LedgerRow], now: datetime) -> int:
    """Erase again whoever of the ledger is there, and write down in the ledger whoever is missing from it.

    Each in a transaction of its own, so that it can be run again after it was stopped. Businesses that are not there
    are passed over.

    Returns:
        How many were there again.
    """
    return sum(_replay(row, now) for row in rows)


def _replay(row: LedgerRow, now: datetime) -> bool:
    with business_scope(row.business_id):
        if not Business.objects.filter(id=row.business_id).exists():
            return False
        Erasure.objects.get_or_create(
            client_id=row.client_id,
            defaults={
                "erased_at": row.erased_at,
                "erased_by": row.erased_by,
                "coach_id": row.coach_id,
                "key_ids": list(row.key_ids),
                "counts": row.counts,
            },
        )
        if erase_rows(client_id=row.client_id, erased_by=None, now=now) is None:
            return False
        record_command(operation="erasures.replay", now=now, object_id=str(row.client_id))
        return True


def _row(business_id: UUID, one: Any) -> LedgerRow:
    return LedgerRow(
        business_id, one.client_id, one.erased_at, one.erased_by, one.coach_id, tuple(one.key_ids), one.counts
    )
