"""Clients' latest planned sessions that were done, with their logs, and how far their programs are written."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date
from itertools import groupby
from operator import itemgetter
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import current_business_id
from logs.analysis.facts import SessionFact
from logs.analysis.session_lengths import PerformedSession, SessionLengthPolicy

_STATES: Final = ("done", "done_late", "part_done")
_POLICY: Final = SessionLengthPolicy()
# Sessions performed on absent days are left out afterwards, so that some more are read than are looked at.
_SESSIONS: Final = 2 * _POLICY.last_sessions

# A client's calendar is read from its end. OFFSET 0 and LIMIT keep the planner from joining whole tables instead.
_PERFORMED: Final = """
SELECT p.client_id, p.id, p.local_date, p.state, p.planned_high_min,
  s.id, s.duration_min, s.started_at, s.finished_at, s.minutes_confirmed
FROM unnest(%(clients)s::uuid[], %(todays)s::date[]) AS c (client_id, today)
CROSS JOIN LATERAL (
  SELECT d.client_id, d.id, d.local_date, d.state, d.planned_high_min FROM programs_plannedsession d
  WHERE d.business_id = %(business)s AND d.client_id = c.client_id
    AND d.local_date BETWEEN c.today - %(days)s AND c.today + 7 AND d.state = ANY (%(states)s)
  ORDER BY d.local_date DESC, d.id DESC LIMIT %(sessions)s
) p
LEFT JOIN LATERAL (
  SELECT * FROM logs_sessionlog s WHERE s.business_id = %(business)s AND s.planned_session_id = p.id
    AND s.deleted_at IS NULL OFFSET 0
) s ON true
ORDER BY p.client_id, p.local_date, p.id, s.id
"""
_WRITTEN: Final = """
SELECT c.client_id, w.local_date FROM unnest(%(clients)s::uuid[]) AS c (client_id)
CROSS JOIN LATERAL (
  SELECT p.local_date FROM programs_plannedsession p
  WHERE p.business_id = %(business)s AND p.client_id = c.client_id AND EXISTS (
    SELECT FROM programs_assignment a
    WHERE a.business_id = %(business)s AND a.id = p.assignment_id AND a.state <> 'ended')
  ORDER BY p.local_date DESC LIMIT 1
) w
"""


def performed_sessions(*, days: Mapping[UUID, date]) -> dict[UUID, list[PerformedSession]]:
    """Return each client's latest planned sessions that were done at least in part, in one statement.

    Args:
        days: each client's local date of today.
    """
    rows = _rows(
        _PERFORMED,
        clients=list(days),
        todays=list(days.values()),
        days=_POLICY.within_days,
        states=list(_STATES),
        sessions=_SESSIONS,
    )
    found: defaultdict[UUID, list[PerformedSession]] = defaultdict(list)
    for (client_id, session_id, local_date, state, planned_high_min), logs in groupby(rows, key=itemgetter(*range(5))):
        found[client_id].append(
            PerformedSession(
                identity=str(session_id),
                local_date=local_date,
                state=state,
                planned_high_min=planned_high_min,
                logs=tuple(_log(row) for row in logs if row[5] is not None),
            )
        )
    return {client_id: found[client_id] for client_id in days}


def written_until(*, client_ids: Collection[UUID]) -> dict[UUID, date]:
    """Return the last planned date of the programs that run, in one statement; who has none is not in it."""
    rows: Any = _rows(_WRITTEN, clients=list(client_ids))
    return dict(rows)


def _log(row: tuple[Any, ...]) -> SessionFact:
    _client, _session, local_date, _state, planned_high_min, log_id, duration_min, started_at, finished_at, sure = row
    return SessionFact(
        session_id=str(log_id),
        local_date=local_date,
        duration_min=duration_min,
        started_at=started_at,
        finished_at=finished_at,
        planned_high_min=planned_high_min,
        minutes_confirmed=sure,
    )


def _rows(statement: str, **parameters: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, {"business": current_business_id(), **parameters})
        return list(cursor.fetchall())
