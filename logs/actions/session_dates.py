"""A set belongs to the date of its session: where a correction moves the session, its sets follow."""

from collections.abc import Iterable

from django.db import connection

from coaching.tenancy.scope import current_business_id
from logs.actions.log_writing import Change


def follow_session_dates(*, sessions: Iterable[Change]) -> None:
    """Give the sets of sessions whose date was corrected that date."""
    moved = [
        change.item.id
        for change in sessions
        if change.was_dated is not None and change.was_dated != change.item.local_date
    ]
    if not moved:
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE logs_setlog t SET local_date = s.local_date FROM logs_sessionlog s"
            " WHERE s.business_id = %(business)s AND s.id = ANY(%(moved)s::uuid[])"
            " AND t.business_id = s.business_id AND t.session_log_id = s.id AND t.local_date <> s.local_date",
            {"business": current_business_id(), "moved": moved},
        )
