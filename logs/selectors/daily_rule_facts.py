"""Rows to what the rules read that are asked once a client and day, since they read weeks of sets.

The number of statements is fixed, whatever the number of clients.
"""

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.models import Q

from coaching.tenancy.scope import current_business_id
from logs.analysis.client_rules import DailyFacts
from logs.analysis.constants import PLACE_BOUND_LOADINGS, RPE_TOP
from logs.analysis.effort_creep import EffortExposure
from logs.analysis.tempo_faults import MeasuredSet, TempoFaultPolicy
from logs.models import FlagEvaluation
from logs.selectors.tempo_sets import list_tempo_sets
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS

EFFORT_DAYS: Final = 56
_TEMPO: Final = TempoFaultPolicy()

# What the plan asked stands with the slot; a failed set and one to the limit need no saying of their effort.
_EFFORTS: Final = """
WITH trained AS MATERIALIZED (
  SELECT l.client_id, l.id, l.local_date, l.place_id, p.id AS plan_id, p.slot_classes, p.prescribed,
    coalesce(p.deload, false) AS deload
  FROM unnest(%(clients)s::uuid[], %(todays)s::date[]) AS c (client_id, today)
  CROSS JOIN LATERAL (
    SELECT * FROM logs_sessionlog l WHERE l.business_id = %(business)s AND l.client_id = c.client_id
      AND l.local_date BETWEEN c.today - %(days)s AND c.today AND l.deleted_at IS NULL OFFSET 0
  ) l
  LEFT JOIN programs_plannedsession p ON p.business_id = %(business)s AND p.id = l.planned_session_id
), asked AS MATERIALIZED (
  SELECT t.plan_id, slot ->> 'slot_key' AS slot_key,
    max(coalesce((g ->> 'rpe')::numeric, %(top)s - (g ->> 'in_reserve')::numeric)) AS rpe
  FROM (SELECT DISTINCT ON (plan_id) plan_id, prescribed FROM trained WHERE plan_id IS NOT NULL) t
  CROSS JOIN LATERAL jsonb_path_query(t.prescribed, '$.blocks[*].slots[*]') AS slot
  CROSS JOIN LATERAL jsonb_path_query(slot, '$.sets[*]') AS g
  GROUP BY 1, 2
)
SELECT t.client_id, t.id::text, t.local_date, e.key,
  concat_ws('/', s.side, coalesce(nullif(s.tempo_class, ''),
      CASE WHEN s.set_number > 0 THEN nullif(t.slot_classes -> s.slot_key ->> (s.set_number - 1), '') END,
      'unspecified'),
    CASE WHEN e.loading = ANY (%(place_bound)s) THEN t.place_id::text END, s.load_basis, s.machine) AS line,
  s.load_kg, s.reps,
  avg(CASE WHEN s.in_reserve IS NOT NULL THEN %(top)s - s.in_reserve WHEN s.rpe IS NOT NULL THEN s.rpe
    ELSE %(top)s END),
  max(a.rpe), t.deload
FROM trained t
JOIN logs_setlog s ON s.business_id = %(business)s AND s.session_log_id = t.id AND s.deleted_at IS NULL
JOIN programs_exercise e ON e.business_id = %(business)s AND e.id = s.exercise_id
LEFT JOIN asked a ON a.plan_id = t.plan_id AND a.slot_key = s.slot_key
WHERE s.outcome <> 'skipped' AND s.kind <> ALL (%(uncounted)s) AND s.reps > 0 AND s.load_kg IS NOT NULL
  AND s.segments IS NULL
  AND (s.in_reserve IS NOT NULL OR s.rpe IS NOT NULL OR s.kind = 'to_limit' OR s.outcome = 'failed')
GROUP BY t.client_id, t.id, t.local_date, t.deload, e.key, line, s.load_kg, s.reps
"""

# Only the sets of each lift's latest measured sessions: judging a set takes its plan.
_MEASURED: Final = """
SELECT r.id FROM (
  SELECT s.id,
    dense_rank() OVER (PARTITION BY l.client_id, s.exercise_id ORDER BY l.local_date DESC, l.id DESC) AS place
  FROM unnest(%(clients)s::uuid[], %(todays)s::date[]) AS c (client_id, today)
  CROSS JOIN LATERAL (
    SELECT * FROM logs_sessionlog l WHERE l.business_id = %(business)s AND l.client_id = c.client_id
      AND l.local_date BETWEEN c.today - %(days)s AND c.today AND l.deleted_at IS NULL OFFSET 0
  ) l
  JOIN logs_setlog s ON s.business_id = %(business)s AND s.session_log_id = l.id AND s.deleted_at IS NULL
    AND s.phase_source IN ('device', 'video')
  LEFT JOIN programs_plannedsession p ON p.business_id = %(business)s AND p.id = l.planned_session_id
  WHERE NOT coalesce(p.deload, false)
) r WHERE r.place <= %(sessions)s
"""


def clients_asked_today(*, days: Mapping[UUID, date]) -> set[UUID]:
    """Return the clients whose rules have been asked on their local date of today.

    Args:
        days: each client's local date of today.
    """
    rows = FlagEvaluation.objects.filter(client_id__in=list(days)).values_list("client_id", "local_date")
    return {client_id for client_id, asked_on in rows if asked_on >= days[client_id]}


def daily_facts(*, days: Mapping[UUID, date]) -> dict[UUID, DailyFacts]:
    """Read what the daily rules need of each client.

    Args:
        days: each client's local date of today.
    """
    if not days:
        return {}
    efforts, measured = _efforts(days), _measured(days)
    return {client_id: DailyFacts(efforts=efforts[client_id], measured_sets=measured[client_id]) for client_id in days}


def _efforts(days: Mapping[UUID, date]) -> defaultdict[UUID, list[EffortExposure]]:
    found: defaultdict[UUID, list[EffortExposure]] = defaultdict(list)
    rows = _rows(
        _EFFORTS,
        days,
        days=EFFORT_DAYS,
        top=RPE_TOP,
        place_bound=sorted(PLACE_BOUND_LOADINGS),
        uncounted=sorted(UNCOUNTED_SET_KINDS),
    )
    for client_id, session, local_date, exercise, line, load_kg, reps, rpe, planned_rpe, deload in rows:
        found[client_id].append(
            EffortExposure(
                session=session,
                local_date=local_date,
                exercise=exercise,
                line=line,
                load_kg=load_kg,
                reps=reps,
                rpe=rpe,
                planned_rpe=planned_rpe,
                deload=deload,
            )
        )
    return found


def _measured(days: Mapping[UUID, date]) -> defaultdict[UUID, list[MeasuredSet]]:
    found: defaultdict[UUID, list[MeasuredSet]] = defaultdict(list)
    set_log_ids = [row[0] for row in _rows(_MEASURED, days, days=_TEMPO.within_days, sessions=_TEMPO.last_sessions)]
    for one in list_tempo_sets(where=Q(id__in=set_log_ids)):
        if one.judgement.kept is not None:
            found[one.row["client_id"]].append(
                MeasuredSet(
                    session=str(one.row["session_log_id"]),
                    local_date=one.local_date,
                    exercise=one.row["exercise__key"],
                    faulty=not one.judgement.kept,
                )
            )
    return found


def _rows(statement: str, clients: Mapping[UUID, date], **parameters: Any) -> list[tuple[Any, ...]]:
    own: dict[str, Any] = {
        "business": current_business_id(),
        "clients": list(clients),
        "todays": list(clients.values()),
    }
    with connection.cursor() as cursor:
        cursor.execute(statement, {**own, **parameters})
        return list(cursor.fetchall())
