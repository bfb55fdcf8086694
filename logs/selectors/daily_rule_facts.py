"""Rows to what the rules read that are asked once a client and day, since they read weeks of sets.

The number of statements is fixed, whatever the number of clients.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.models import Q

from coaching.tenancy.scope import current_business_id
from logs.analysis.client_rules import DailyFacts
from logs.analysis.constants import PLACE_BOUND_LOADINGS, RPE_TOP
from logs.analysis.effort_creep import EffortExposure
from logs.analysis.tempo_faults import MeasuredSet, TempoFaultPolicy
from logs.models import FlagEvaluation, SessionLog
from logs.selectors.tempo_sets import list_tempo_sets
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS

EFFORT_DAYS: Final = 56
_MEASURED: Final = timedelta(days=TempoFaultPolicy().within_days)
_MEASURES: Final = ("device", "video")

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
    parameters: dict[str, Any] = {
        "business": current_business_id(),
        "clients": list(days),
        "todays": list(days.values()),
        "days": EFFORT_DAYS,
        "top": RPE_TOP,
        "place_bound": sorted(PLACE_BOUND_LOADINGS),
        "uncounted": sorted(UNCOUNTED_SET_KINDS),
    }
    found: defaultdict[UUID, list[EffortExposure]] = defaultdict(list)
    with connection.cursor() as cursor:
        cursor.execute(_EFFORTS, parameters)
        for client_id, session, local_date, exercise, line, load_kg, reps, rpe, planned_rpe, deload in cursor:
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
    for one in list_tempo_sets(where=Q(session_log_id__in=_sessions(days), phase_source__in=_MEASURES)):
        client_id = one.row["client_id"]
        if one.judgement.kept is not None and one.local_date <= days[client_id] and not one.deload:
            found[client_id].append(
                MeasuredSet(
                    session=str(one.row["session_log_id"]),
                    local_date=one.local_date,
                    exercise=one.row["exercise__key"],
                    faulty=not one.judgement.kept,
                )
            )
    return found


def _sessions(days: Mapping[UUID, date]) -> Collection[UUID]:
    # Sessions first: in one join the planner tries each set against each session where it has no statistics yet.
    since = min(days.values()) - _MEASURED
    rows = SessionLog.objects.filter(client_id__in=list(days), local_date__gte=since, deleted_at__isnull=True)
    return list(rows.values_list("id", flat=True))
