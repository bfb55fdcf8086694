"""Tell `programs` what was performed: recomputed from all logs of a planned session, in whatever order they came."""

from collections.abc import Iterable
from dataclasses import fields
from datetime import date, datetime
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import current_business_id
from programs.actions.performances import Performance, record_performance
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS

_LOGS_OF_PLANNED: Final = (
    "SELECT p.id, s.local_date, coalesce(c.sets, 0),"
    " s.finished_at IS NOT NULL OR s.duration_min IS NOT NULL OR s.session_rpe IS NOT NULL, s.cut_reason,"
    " q.client_id, q.local_date FROM unnest(%(planned)s::uuid[]) AS p (id)"
    " LEFT JOIN programs_plannedsession q ON q.business_id = %(business)s AND q.id = p.id"
    " LEFT JOIN logs_sessionlog s ON s.business_id = %(business)s AND s.planned_session_id = p.id"
    "  AND s.deleted_at IS NULL"
    " LEFT JOIN LATERAL (SELECT sum(n)::int AS sets FROM ("
    # The left and the right of one number are one set.
    "  SELECT count(*) FILTER (WHERE side = 'both') + greatest("
    "   count(*) FILTER (WHERE side = 'left'), count(*) FILTER (WHERE side = 'right')) AS n FROM logs_setlog"
    "  WHERE business_id = %(business)s AND session_log_id = s.id AND deleted_at IS NULL"
    "   AND outcome <> 'skipped' AND kind <> ALL(%(uncounted)s)"
    "  GROUP BY exercise_id, slot_key, set_number) AS numbered) AS c ON true"
    # The reason shown is the first; which that is must not hang on how rows lie.
    " ORDER BY p.id, s.local_date, s.started_at, s.source, s.external_id"
)
_PERFORMANCE: Final = len(fields(Performance))


def push_performances(*, planned_session_ids: Iterable[str], now: datetime) -> set[tuple[UUID, date]]:
    """Settle planned sessions by all the logs that they have now.

    Returns:
        The clients and dates of those planned sessions, whose weeks' adherence hangs on their logs.
    """
    planned = sorted(set(planned_session_ids))
    if not planned:
        return set()
    with connection.cursor() as cursor:
        cursor.execute(
            _LOGS_OF_PLANNED,
            {
                "planned": planned,
                "business": current_business_id(),
                "uncounted": sorted(UNCOUNTED_SET_KINDS),
            },
        )
        rows = cursor.fetchall()
    record_performance(performances=[Performance(*row[:_PERFORMANCE]) for row in rows], now=now)
    return {(client_id, local_date) for *_, client_id, local_date in rows if client_id is not None}


def planned_sessions_of(*, session_log_ids: Iterable[str]) -> set[str]:
    """Return the planned sessions that session logs belong to."""
    ids = sorted(set(session_log_ids))
    if not ids:
        return set()
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT DISTINCT planned_session_id FROM logs_sessionlog WHERE business_id = %s AND id = ANY(%s::uuid[])"
            " AND planned_session_id IS NOT NULL",
            [current_business_id(), ids],
        )
        return {str(row[0]) for row in cursor.fetchall()}
