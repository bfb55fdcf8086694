"""Find the sessions past their day and grace, and settle them as missed, excused or paused."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.actions.stale_weeks import mark_stale
from coaching.tenancy.scope import current_business_id
from programs.selectors.business_calendar import get_business_calendar

# Rows that another detector or a person holds are passed over: the next run finds what is left of them.
# Absences were applied when they were recorded; here they are looked at again, so that nothing recorded
# meanwhile is alerted. Days away "as planned" or with travel kit count, but are not told of.
_SETTLE: Final = """
WITH due AS (
  SELECT p.id, c.state AS client_state, away.id AS absence_id, away.kind, away.treatment, a.calendar,
    p.due_at < a.alerts_from AS before_assigned
  FROM programs_plannedsession p
  JOIN programs_assignment a ON a.business_id = p.business_id AND a.id = p.assignment_id
  JOIN coaching_client c ON c.business_id = p.business_id AND c.id = p.client_id
  LEFT JOIN LATERAL (
    SELECT b.id, b.kind, b.treatment FROM coaching_absence b
    WHERE b.business_id = p.business_id AND b.client_id = p.client_id
      AND p.local_date BETWEEN b.starts_on AND b.ends_on
    ORDER BY (b.treatment = 'pause') DESC, b.id LIMIT 1
  ) away ON true
  WHERE p.business_id = %(business)s AND p.state = 'planned' AND p.due_at <= %(now)s
  ORDER BY p.due_at, p.id LIMIT %(limit)s
  FOR UPDATE OF p SKIP LOCKED
), settled AS (
  SELECT id, absence_id, treatment, before_assigned,
    CASE WHEN client_state = 'ended' THEN 'excused'
         WHEN treatment = 'pause' AND calendar = 'fixed_days' THEN 'excused'
         WHEN client_state = 'paused' THEN 'paused'
         ELSE 'missed' END AS state,
    CASE WHEN client_state = 'ended' THEN 'The client is no longer coached.'
         WHEN treatment = 'pause' AND calendar = 'fixed_days' THEN 'Away: ' || kind || '.'
         ELSE '' END AS reason
  FROM due
)
UPDATE programs_plannedsession p SET
  state = s.state,
  excuse_reason = s.reason,
  absence_id = CASE WHEN s.state = 'excused' AND s.treatment = 'pause' THEN s.absence_id END,
  missed_at = CASE WHEN s.state = 'missed' THEN %(now)s END,
  row_version = p.row_version + 1
FROM settled s WHERE p.business_id = %(business)s AND p.id = s.id
RETURNING p.state, p.id, p.client_id, p.local_date, s.absence_id IS NOT NULL, coalesce(s.before_assigned, false)
"""


@dataclass(frozen=True, slots=True)
class MissedSession:
    """A session that was just settled as missed.

    Attributes:
        planned_session_id: the planned session.
        client_id: whose it is.
        local_date: the date by which it counted.
        away: the client is away on that date, so nobody is told of it.
        before_assigned: it was due before its program was assigned, so nobody is told of it.
    """

    planned_session_id: UUID
    client_id: UUID
    local_date: date
    away: bool
    before_assigned: bool


@dataclass(frozen=True, slots=True)
class SettledSessions:
    """What a run settled: how many sessions, and those of them that are missed."""

    count: int
    missed: list[MissedSession]


def mark_missed(*, now: datetime, limit: int) -> SettledSessions:
    """Settle up to `limit` sessions that are due and untouched, oldest first.

    Those of absent or ended clients become `excused`, of paused ones `paused`, the others `missed`. Safe
    beside itself: each session is settled by one run.

    Returns:
        How many were settled, and the missed ones among them; fewer than `limit` settled is all there were.
    """
    with connection.cursor() as cursor:
        cursor.execute(_SETTLE, {"business": current_business_id(), "now": now, "limit": limit})
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    if not rows:
        return SettledSessions(0, [])
    calendar = get_business_calendar()
    mark_stale(weeks={(client_id, calendar.week_of(day)) for _state, _id, client_id, day, *_told in rows}, now=now)
    return SettledSessions(len(rows), [MissedSession(*row) for state, *row in rows if state == "missed"])
