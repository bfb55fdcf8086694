"""Delete logs, waiting sets, files and records of batches that a business keeps no longer."""

from datetime import datetime
from typing import Final

from django.db import connection, models

from coaching.registry import Kept
from coaching.tenancy.scope import current_business_id
from logs.actions.log_imports import forgotten
from logs.models import (
    CheckIn,
    ClientWeek,
    Flag,
    FlagEvaluation,
    HeldItem,
    LogImport,
    LogRevision,
    MissedAlert,
    SessionLog,
    SetLog,
)
from logs.models.log_imports import ImportState

_OF_ENDED: Final[tuple[type[models.Model], ...]] = (
    LogRevision,
    SetLog,
    SessionLog,
    CheckIn,
    HeldItem,
    Flag,
    FlagEvaluation,
    MissedAlert,
    ClientWeek,
)
"""What goes with the logs of a client who ended: theirs, and what was found in them; what hangs on another first."""


def delete_what_is_over(kept: Kept, now: datetime) -> bool:
    """Delete a piece of what is older than the business keeps it; say whether more is due."""
    more = kept.count("logs_helditem", _deleted("logs_helditem", "expires_at <= %(before)s", kept.held_before, kept))
    batches = _deleted("logs_logbatch", "received_at <= %(before)s", kept.batches_before, kept)
    more = kept.count("logs_logbatch", batches) or more
    files = LogImport.objects.filter(expires_at__lte=kept.imports_before).exclude(state=ImportState.FORGOTTEN)
    kept.count("logs_logimport", files.update(**forgotten(now)))
    return _delete_of_ended(kept) or more


def _delete_of_ended(kept: Kept) -> bool:
    if kept.ended_before is None:
        return False
    condition = (
        "client_id IN (SELECT id FROM coaching_client WHERE business_id = %(business)s AND state = 'ended'"
        " AND ended_at <= %(before)s)"
    )
    for model in _OF_ENDED:
        table = model._meta.db_table
        # A whole piece ends the run: what hangs on these rows is looked at when none is left.
        if kept.count(table, _deleted(table, condition, kept.ended_before, kept)):
            return True
    return False


def _deleted(table: str, condition: str, before: datetime, kept: Kept) -> int:
    with connection.cursor() as cursor:
        cursor.execute(
            f"DELETE FROM {table} WHERE id IN (SELECT id FROM {table} WHERE business_id = %(business)s"
            f" AND {condition} LIMIT %(rows)s)",
            {"business": current_business_id(), "before": before, "rows": kept.rows},
        )
        changed: int = cursor.rowcount
        return changed
