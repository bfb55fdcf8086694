"""Change how long a business keeps what it holds, and delete what is older."""

from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching import registry
from coaching.actions.audit_trail import record_by_service
from coaching.actions.row_versions import Versions, bump
from coaching.models.clients import Client, ClientState
from coaching.models.retention import HELD_ITEM_DAYS, LOG_IMPORT_DAYS, RetentionPolicy
from coaching.registry import Kept
from coaching.selectors.retention import get_retention_policy
from coaching.tenancy.scope import business_scope, current_business_id

ROWS_A_PIECE: Final = 5_000
"""How many rows of a table one transaction deletes at most. Practice."""

DAYS_A_MONTH: Final = 31
"""A month is taken as its longest: nothing goes before its time."""


def change_retention(*, versions: Versions, **changes: Any) -> RetentionPolicy:
    """Change the business's times; what is older then goes the next night.

    Raises:
        PreconditionFailed: they were changed since the version named.
    """
    RetentionPolicy.objects.get_or_create()
    row_id = RetentionPolicy.objects.values_list("id", flat=True).get()
    bump(RetentionPolicy.objects.all(), row_id, versions, **changes)
    return get_retention_policy()


def delete_what_is_over(business_id: UUID, now: datetime) -> bool:
    """Delete a bounded piece of what the business keeps no longer, and write how much into its trail.

    Returns:
        Whether more is due.
    """
    with business_scope(business_id):
        kept = _kept(get_retention_policy(), now)
        _date_ends(now)
        more = kept.count("coaching_outboxmessage", _empty_mails(kept))
        for delete in registry.retention_jobs:
            more = delete(kept, now) or more
        if kept.counts:
            record_by_service(done=[("retention", business_id, kept.counts)], now=now)
    return more


def _kept(policy: RetentionPolicy, now: datetime) -> Kept:
    months = policy.ended_client_months
    return Kept(
        # Items and files carry the instant at which they go by the longest time that there is.
        held_before=now + timedelta(days=HELD_ITEM_DAYS - policy.held_item_days),
        imports_before=now + timedelta(days=LOG_IMPORT_DAYS - policy.log_import_days),
        batches_before=now - timedelta(days=policy.log_batch_days),
        mails_before=now - timedelta(days=policy.mail_body_days),
        ended_before=None if months is None else now - timedelta(days=DAYS_A_MONTH * months),
        rows=ROWS_A_PIECE,
    )


def _date_ends(now: datetime) -> None:
    """Begin to count for clients who ended before that was written down."""
    Client.objects.filter(state=ClientState.ENDED, ended_at=None).update(ended_at=now)


def _empty_mails(kept: Kept) -> int:
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_outboxmessage SET rendered = NULL, payload = '{}' WHERE id IN (SELECT id"
            " FROM coaching_outboxmessage WHERE business_id = %s AND settled_at < %s"
            " AND (rendered IS NOT NULL OR payload <> '{}') LIMIT %s)",
            [current_business_id(), kept.mails_before, kept.rows],
        )
        changed: int = cursor.rowcount
        return changed
