"""Which businesses have work that is due: the only reads that look across businesses.

Each goes through a function of the database that returns ids alone (`migrations/0002_row_security.py`).
"""

from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db import connection

RECONCILED_EVERY: Final = timedelta(hours=24)
"""How often each business is looked over. Practice."""


def list_active_business_ids(_now: datetime) -> list[UUID]:
    """Return every active business."""
    return _ids("SELECT active_business_ids()", [])


def list_one_business(now: datetime) -> list[UUID]:
    """Return one active business, in whose turn work that is of no business is done; or none."""
    return list_active_business_ids(now)[:1]


def list_businesses_with_stale_weeks(_now: datetime) -> list[UUID]:
    """Return the businesses with weeks to refresh, longest waiting first."""
    return _ids("SELECT businesses_with_stale_weeks()", [])


def list_businesses_with_due_messages(now: datetime) -> list[UUID]:
    """Return the businesses with deliveries due by `now`, longest waiting first."""
    return _ids("SELECT businesses_with_due_messages(%s)", [now])


def list_businesses_with_due_operations(now: datetime) -> list[UUID]:
    """Return the businesses with long work to do, or with files of it to delete by `now`, longest waiting first."""
    return _ids("SELECT businesses_with_due_operations(%s)", [now])


def list_businesses_to_reconcile(now: datetime) -> list[UUID]:
    """Return the businesses that were not looked over for a day, longest ago first."""
    return _ids("SELECT businesses_to_reconcile(%s)", [now - RECONCILED_EVERY])


def _ids(statement: str, parameters: list[datetime]) -> list[UUID]:
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        return [row[0] for row in cursor.fetchall()]
