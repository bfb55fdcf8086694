"""Rows to what the morning page rests on: one statement, whatever the number of clients."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import current_business_id
from logs.analysis.adherence import NEUTRAL_STATES
from logs.analysis.attendance import ATTENDED_STATES
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.overview import OverviewPolicy
from programs.selectors.business_calendar import BusinessCalendar

# Of sessions planned for one day the attended one tells: of a floating week, that the person came. The week is bounded
# by pairs, so that it is read from the client's calendar whatever the planner believes of the index by date.
_FACTS: Final = """
SELECT c.client_id, due.local_date AS due_on, due.since AS due_since, due.attended AS due_attended,
  trained.local_date AS last_session_on, checked.local_date AS last_check_in_on, written.until AS written_until,
  week.*, measured.*, asked.local_date AS evaluated_on,
  EXISTS (SELECT FROM coaching_staleweek s WHERE s.business_id = %(business)s AND s.client_id = c.client_id)
    AS being_refreshed,
  EXISTS (SELECT FROM programs_plannedsession p WHERE p.business_id = %(business)s AND p.client_id = c.client_id
    AND p.local_date >= c.today - %(recent_days)s AND p.window_start <= c.today
    AND p.state = 'planned' AND p.due_at > %(now)s) AS open_today,
  EXISTS (SELECT FROM coaching_absence b WHERE b.business_id = %(business)s AND b.client_id = c.client_id
    AND c.today BETWEEN b.starts_on AND b.ends_on) OR coalesce(program.all_paused, false) AS away
FROM unnest(%(clients)s::uuid[], %(todays)s::date[], %(weeks)s::date[]) AS c (client_id, today, week)
LEFT JOIN LATERAL (
  SELECT p.local_date, least(p.window_start, p.performed_on) AS since, p.state = ANY (%(attended)s) AS attended
  FROM programs_plannedsession p
  WHERE p.business_id = %(business)s AND p.client_id = c.client_id AND p.local_date >= c.today - %(recent_days)s
    AND (p.state = ANY (%(attended)s) OR p.state = 'missed' OR (p.state = 'planned' AND p.due_at <= %(now)s))
  ORDER BY p.local_date DESC, attended DESC, p.id LIMIT 1
) due ON true
LEFT JOIN LATERAL (
  SELECT l.local_date FROM logs_sessionlog l
  WHERE l.business_id = %(business)s AND l.client_id = c.client_id AND l.deleted_at IS NULL
  ORDER BY l.local_date DESC LIMIT 1
) trained ON true
LEFT JOIN LATERAL (
  SELECT l.local_date FROM logs_checkin l
  WHERE l.business_id = %(business)s AND l.client_id = c.client_id AND l.deleted_at IS NULL
  ORDER BY l.local_date DESC LIMIT 1
) checked ON true
LEFT JOIN LATERAL (
  SELECT max(p.local_date) AS until FROM programs_plannedsession p
  WHERE p.business_id = %(business)s AND p.client_id = c.client_id
) written ON true
LEFT JOIN LATERAL (
  SELECT bool_and(EXISTS (
    SELECT FROM programs_assignmentpause u WHERE u.business_id = %(business)s AND u.assignment_id = a.id
      AND u.from_date <= c.today AND (u.resumed_on IS NULL OR u.resumed_on > c.today))) AS all_paused
  FROM programs_assignment a
  WHERE a.business_id = %(business)s AND a.client_id = c.client_id AND a.state <> 'ended'
) program ON true
LEFT JOIN LATERAL (
  SELECT count(*) FILTER (WHERE p.state <> ALL (%(neutral)s)) AS sessions_planned,
    count(*) FILTER (WHERE p.state = 'done') AS sessions_done,
    count(*) FILTER (WHERE p.state = 'part_done') AS sessions_part_done,
    count(*) FILTER (WHERE p.state = 'done_late') AS sessions_done_late,
    count(*) FILTER (WHERE p.state = 'missed' OR (p.state = 'planned' AND p.due_at <= %(now)s)) AS sessions_missed,
    count(*) FILTER (WHERE p.state = ANY (%(neutral)s)) AS sessions_excused,
    count(*) FILTER (WHERE (p.state = 'missed' OR (p.state = 'planned' AND p.due_at <= %(now)s)) AND NOT EXISTS (
      SELECT FROM coaching_absence b WHERE b.business_id = %(business)s AND b.client_id = c.client_id
        AND p.local_date BETWEEN b.starts_on AND b.ends_on)) AS missed_while_here
  FROM programs_plannedsession p
  WHERE p.business_id = %(business)s AND p.client_id = c.client_id
    AND (p.client_id, p.local_date) >= (c.client_id, c.week)
    AND (p.client_id, p.local_date) < (c.client_id, c.week + %(days)s)
) week ON true
LEFT JOIN LATERAL (
  SELECT coalesce(bool_or(l.session_log), false) AS session_log, coalesce(bool_or(l.rated), false) AS session_rpe,
    coalesce(bool_or(l.wellness), false) AS wellness, coalesce(bool_or(l.hr), false) AS resting_heart_rate,
    coalesce(bool_or(l.hrv), false) AS heart_rate_variability
  FROM (
    SELECT true AS session_log, session_rpe IS NOT NULL AS rated, false AS wellness, false AS hr, false AS hrv
    FROM logs_sessionlog WHERE business_id = %(business)s AND client_id = c.client_id AND deleted_at IS NULL
      AND local_date > c.today - %(measured_days)s
    UNION ALL
    SELECT false, false, num_nonnulls(sleep, fatigue, stress, soreness) > 0, resting_hr_bpm IS NOT NULL,
      hrv_rmssd_ms IS NOT NULL
    FROM logs_checkin WHERE business_id = %(business)s AND client_id = c.client_id AND deleted_at IS NULL
      AND local_date > c.today - %(measured_days)s
  ) l
) measured ON true
LEFT JOIN logs_flagevaluation asked ON asked.business_id = %(business)s AND asked.client_id = c.client_id
"""


def overview_facts(
    *, todays: Mapping[UUID, date], calendar: BusinessCalendar, policy: OverviewPolicy, now: datetime
) -> dict[UUID, dict[str, Any]]:
    """Read what the morning page rests on, flags left out.

    Args:
        todays: each client's local date of today.
        calendar: the business's reckoning of days and weeks.
        policy: how far back is looked.
        now: the present instant, by which sessions are overdue.

    Returns:
        The columns of the statement, by client.
    """
    parameters: dict[str, Any] = {
        "business": current_business_id(),
        "clients": list(todays),
        "todays": list(todays.values()),
        "weeks": [calendar.week_of(today) for today in todays.values()],
        "now": now,
        "attended": sorted(ATTENDED_STATES),
        "neutral": sorted(NEUTRAL_STATES),
        "recent_days": policy.recent_days,
        "measured_days": policy.measured_days,
        "days": DAYS_PER_WEEK,
    }
    with connection.cursor() as cursor:
        cursor.execute(_FACTS, parameters)
        names = [column.name for column in cursor.description or ()]
        return {row[0]: dict(zip(names, row, strict=True)) for row in cursor.fetchall()}
