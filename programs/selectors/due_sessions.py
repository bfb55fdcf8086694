"""Which businesses have planned sessions past their due instant, through a function that returns ids alone."""

from datetime import datetime
from uuid import UUID

from django.db import connection


def list_businesses_with_due_sessions(now: datetime) -> list[UUID]:
    """Return the businesses with sessions that count as missed by `now`, longest waiting first."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT businesses_with_due_sessions(%s)", [now])
        return [row[0] for row in cursor.fetchall()]
