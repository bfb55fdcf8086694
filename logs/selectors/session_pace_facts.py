"""The planned sessions that clients have done last, with the logs of each: what their pace is found from."""

from collections import defaultdict
from collections.abc import Collection
from itertools import groupby
from operator import itemgetter
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import current_business_id
from logs.analysis.facts import SessionFact
from logs.analysis.session_pace import PlannedPerformance
from programs.prescription.constants import PACE_SESSIONS_MAX

# A client's calendar is read from its end (`planned_session_calendar`) until there are enough sessions. OFFSET 0 and
# LIMIT keep the planner from joining whole tables instead, which it tries where it has no statistics yet.
_DONE: Final = """
SELECT p.client_id, p.id, p.local_date, p.planned_low_min, p.planned_high_min,
  s.id AS log_id, s.duration_min, s.started_at, s.finished_at, s.minutes_confirmed
FROM unnest(%(clients)s::uuid[]) AS c (client_id)
CROSS JOIN LATERAL (
  SELECT d.client_id, d.id, d.local_date, d.planned_low_min, d.planned_high_min FROM (
    SELECT * FROM programs_plannedsession d WHERE d.business_id = %(business)s AND d.client_id = c.client_id
      AND d.state IN ('done', 'done_late') ORDER BY d.local_date DESC, d.id DESC OFFSET 0
  ) d CROSS JOIN LATERAL (
    SELECT FROM logs_sessionlog l WHERE l.business_id = %(business)s AND l.planned_session_id = d.id
      AND l.deleted_at IS NULL LIMIT 1
  ) l
  ORDER BY d.local_date DESC, d.id DESC LIMIT %(sessions)s
) p
CROSS JOIN LATERAL (
  SELECT * FROM logs_sessionlog s WHERE s.business_id = %(business)s AND s.planned_session_id = p.id
    AND s.deleted_at IS NULL OFFSET 0
) s
ORDER BY p.client_id, p.local_date, p.id, s.id
"""


def session_pace_facts(*, client_ids: Collection[UUID]) -> dict[UUID, list[PlannedPerformance]]:
    """Return what each client's pace is found from, in one query; every client named has an entry."""
    business_id = current_business_id()
    found: defaultdict[UUID, list[PlannedPerformance]] = defaultdict(list)
    with connection.cursor() as cursor:
        cursor.execute(_DONE, {"clients": sorted(client_ids), "business": business_id, "sessions": PACE_SESSIONS_MAX})
        rows = cursor.fetchall()
    for (client_id, *planned), logs in groupby(rows, key=itemgetter(0, 1, 2, 3, 4)):
        session_id, local_date, low_min, high_min = planned
        found[client_id].append(
            PlannedPerformance(
                planned_session_id=str(session_id),
                local_date=local_date,
                planned_low_min=low_min,
                planned_high_min=high_min,
                logs=tuple(_log(row) for row in logs),
            )
        )
    return {client_id: found[client_id] for client_id in client_ids}


def _log(row: tuple[Any, ...]) -> SessionFact:
    *_planned, local_date, _low, planned_high_min, log_id, duration_min, started_at, finished_at, confirmed = row
    return SessionFact(
        session_id=str(log_id),
        local_date=local_date,
        duration_min=duration_min,
        started_at=started_at,
        finished_at=finished_at,
        planned_high_min=planned_high_min,
        minutes_confirmed=confirmed,
    )
