"""Which businesses have planned sessions past their due instant, through a function that returns ids alone."""

from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db import connection

DETECTION_TAKES: Final = timedelta(minutes=10)
"""A session past its due instant by more than this should have been found: the detector runs each half minute."""


def list_businesses_with_due_sessions(now: datetime) -> list[UUID]:
    """Return the businesses with sessions that count as missed by `now`, longest waiting first."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT businesses_with_due_sessions(%s)", [now])
        return [row[0] for row in cursor.fetchall()]


def detection_is_overdue(now: datetime) -> bool:
    """Say whether a session has been due for long and nothing has found it: no worker or beat runs, or they fail."""
    return bool(list_businesses_with_due_sessions(now - DETECTION_TAKES))
