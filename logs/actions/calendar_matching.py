"""Match logs that are there already, when the calendar changes under them."""

from datetime import date, datetime
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import current_business_id
from logs.actions.performances import push_performances
from logs.actions.session_matching import match_sessions
from logs.actions.weekly_progress import mark_weeks_of_logs
from programs.selectors.business_calendar import get_business_calendar

_LOGGED_DAYS: Final = (
    "SELECT DISTINCT l.client_id, l.local_date FROM programs_plannedsession p "
    "JOIN programs_assignment a ON a.business_id = p.business_id AND a.id = p.assignment_id "
    "JOIN logs_sessionlog l ON l.business_id = p.business_id AND l.client_id = p.client_id "
    "AND l.deleted_at IS NULL AND NOT l.planned_session_named "
    "AND CASE WHEN a.calendar = 'in_sequence' THEN l.local_date >= a.start_date "
    "ELSE l.local_date BETWEEN p.window_start AND p.window_end END "
    "WHERE p.business_id = %s AND p.id = ANY(%s)"
)


def follow_session_days(planned_session_ids: list[UUID], now: datetime) -> None:
    """Match the logs of the days on which these sessions may be done now, in the transaction that changed them.

    What came off a day, or off the calendar, had no log, so that nobody else's match follows from it.

    Args:
        planned_session_ids: sessions that are new, or whose days changed; the caller has locked their clients.
        now: the present instant.
    """
    days = _logged_days(planned_session_ids)
    if not days:
        return
    affected, moved_days = match_sessions(days=days, named=map(str, planned_session_ids))
    planned_days = push_performances(planned_session_ids=affected, now=now)
    mark_weeks_of_logs(
        performed=planned_days | {(UUID(client_id), local_date) for client_id, local_date in moved_days},
        week_start=get_business_calendar().week_start,
        now=now,
    )


def _logged_days(planned_session_ids: list[UUID]) -> list[tuple[str, date]]:
    with connection.cursor() as cursor:
        cursor.execute(_LOGGED_DAYS, [current_business_id(), planned_session_ids])
        return [(str(client_id), local_date) for client_id, local_date in cursor.fetchall()]
