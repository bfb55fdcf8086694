"""Weekly rows against one hand-written statement, against a loop in the ORM, and one late log against bare SQL.

The hand-written statement computes tonnage, sets by muscle, best estimates, session load and adherence, and stores
them, over the same logs; ours computes every column. The loop in the ORM fetches each client's rows and computes every
column by the pure reference. Whatever the last run stored is deleted before each.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from statistics import median
from time import perf_counter
from uuid import UUID

from django.db import connection, connections
from django.utils import timezone

from coaching.actions.stale_weeks import clear_stale_weeks, take_stale_weeks
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import (
    WEEKS_A_PIECE,
    mark_weeks_of_logs,
    rebuild_weeks,
    refresh_weeks,
    store_client_weeks,
)
from logs.analysis.weekly import weekly_figures
from logs.models import ClientWeek, SetLog
from logs.selectors.week_facts import week_facts
from tests.benchmarks.histories import MONDAY, SETS_A_WEEK, add_weeks
from tests.benchmarks.ratios import Ratio
from tests.benchmarks.rows import bench_business

CLIENTS = 1_000
HISTORY = (40, 12)
"""Clients and weeks of the rebuild."""

_LOOPED = 30
_RUNS = 5
_WEEK = timedelta(days=7)

# What one would write by hand for these figures, of a week or of several, of all clients or of some.
_BY_HAND = """
WITH done AS (
  SELECT s.client_id, date_trunc('week', s.local_date)::date AS week_start, s.session_log_id, s.exercise_id,
    s.reps, s.load_kg, s.in_reserve
  FROM logs_setlog s
  WHERE s.business_id = %(business)s AND s.client_id = ANY (%(clients)s) AND s.local_date BETWEEN %(first)s AND %(last)s
    AND s.deleted_at IS NULL AND s.outcome <> 'skipped' AND s.kind NOT IN ('warm_up', 'ramp', 'technique')
),
moved AS (
  SELECT client_id, week_start, count(*) AS work_sets, count(*) FILTER (WHERE in_reserve <= 4) AS hard_sets,
    sum(reps) AS reps, sum(reps * load_kg) AS tonnage_kg
  FROM done GROUP BY 1, 2
),
muscle AS (
  SELECT d.client_id, d.week_start, m.muscle, count(*) FILTER (WHERE m.worked_first) AS direct, count(*) AS total
  FROM done d JOIN programs_exercise e ON e.business_id = %(business)s AND e.id = d.exercise_id
  CROSS JOIN LATERAL (
    SELECT unnest(e.primary_muscles), true UNION ALL SELECT unnest(e.secondary_muscles), false
  ) AS m (muscle, worked_first)
  WHERE d.in_reserve <= 4 GROUP BY 1, 2, 3
),
muscles AS (
  SELECT client_id, week_start, jsonb_object_agg(muscle, jsonb_build_object('direct', direct, 'total', total)) AS sets
  FROM muscle GROUP BY 1, 2
),
best AS (
  SELECT client_id, week_start, exercise_id, max(load_kg * (1 + (reps + in_reserve) / 30)) AS maximum_kg
  FROM done WHERE reps + in_reserve <= 10 GROUP BY 1, 2, 3
),
bests AS (
  SELECT client_id, week_start, jsonb_object_agg(exercise_id::text, round(maximum_kg, 6)) AS lifts
  FROM best GROUP BY 1, 2
),
load AS (
  SELECT client_id, date_trunc('week', local_date)::date AS week_start, sum(session_rpe * duration_min) AS session_load
  FROM logs_sessionlog
  WHERE business_id = %(business)s AND client_id = ANY (%(clients)s) AND local_date BETWEEN %(first)s AND %(last)s
    AND deleted_at IS NULL
  GROUP BY 1, 2
),
adherence AS (
  SELECT client_id, date_trunc('week', local_date)::date AS week_start,
    avg(CASE WHEN state IN ('done', 'done_late') THEN 1 ELSE 0 END) AS adherence
  FROM programs_plannedsession
  WHERE business_id = %(business)s AND client_id = ANY (%(clients)s) AND local_date BETWEEN %(first)s AND %(last)s
  GROUP BY 1, 2
)
INSERT INTO bench_client_week
SELECT %(business)s, client_id, week_start, work_sets, hard_sets, reps, tonnage_kg, sets, lifts, session_load, adherence
FROM moved LEFT JOIN muscles USING (client_id, week_start) LEFT JOIN bests USING (client_id, week_start)
LEFT JOIN load USING (client_id, week_start) LEFT JOIN adherence USING (client_id, week_start)
ON CONFLICT (business_id, client_id, week_start) DO UPDATE SET tonnage_kg = excluded.tonnage_kg
"""
_TABLE = (
    "DROP TABLE IF EXISTS bench_client_week",
    (
        "CREATE TABLE bench_client_week (business_id uuid, client_id uuid, week_start date, work_sets int, "
        "hard_sets int, reps int, tonnage_kg numeric, sets jsonb, lifts jsonb, session_load numeric, "
        "adherence numeric, PRIMARY KEY (business_id, client_id, week_start))"
    ),
    "GRANT SELECT, INSERT, UPDATE, DELETE ON bench_client_week TO PUBLIC",
)


@dataclass(frozen=True)
class _Trained:
    """Clients with weeks of logs."""

    business_id: UUID
    client_ids: Sequence[UUID]
    weeks: int

    def by_hand(self) -> float:
        """Store the weeks by the hand-written statement."""
        with business_scope(self.business_id), connection.cursor() as cursor:
            cursor.execute("DELETE FROM bench_client_week WHERE business_id = %s", [self.business_id])
        started = perf_counter()
        with business_scope(self.business_id), connection.cursor() as cursor:
            cursor.execute(
                _BY_HAND,
                {
                    "business": self.business_id,
                    "clients": list(self.client_ids),
                    "first": MONDAY,
                    "last": MONDAY + self.weeks * _WEEK - timedelta(days=1),
                },
            )
        return perf_counter() - started

    def ours(self, work: Callable[[], object]) -> float:
        """Time a way of ours from no rows."""
        with business_scope(self.business_id):
            ClientWeek.objects.filter(client_id__in=self.client_ids).delete()
        started = perf_counter()
        work()
        return perf_counter() - started

    def in_scope(self) -> None:
        """Store the first week of all clients by our statement."""
        with business_scope(self.business_id):
            store_client_weeks(weeks=[(client_id, MONDAY) for client_id in self.client_ids])


def measure() -> list[Ratio]:
    """Measure a week of many clients, a rebuild, and one late log."""
    with connections["owner"].cursor() as cursor:
        for statement in _TABLE:
            cursor.execute(statement)
    many = _trained("Iron Ford", clients=CLIENTS, weeks=1)
    few = _trained("Slate Quay", clients=HISTORY[0], weeks=HISTORY[1])
    return [
        _week(many),
        _loop(many),
        _rebuild(few),
        _late_log(few, _row_only, "its week's row, marks too"),
        _late_log(few, _refreshed, "its week refreshed, flags and paces too"),
    ]


def _trained(name: str, *, clients: int, weeks: int) -> _Trained:
    bench = bench_business(name, clients=clients)
    client_ids = [UUID(one) for one in bench.client_ids]
    add_weeks(bench.business_id, client_ids, weeks=weeks)
    with connections["owner"].cursor() as cursor:
        cursor.execute("ANALYZE")
    return _Trained(bench.business_id, client_ids, weeks)


def _week(many: _Trained) -> Ratio:
    pairs = [(many.ours(many.in_scope), many.by_hand()) for _ in range(_RUNS)]
    return _ratio(
        f"the week of {CLIENTS:,} clients, {CLIENTS * SETS_A_WEEK:,} sets, all columns, against five by hand",
        pairs[1:],
        target=1.5,
    )


def _loop(many: _Trained) -> Ratio:
    ours = median(many.ours(many.in_scope) for _ in range(3))
    some = many.client_ids[:_LOOPED]
    with business_scope(many.business_id):
        ClientWeek.objects.all().delete()
    started = perf_counter()
    with business_scope(many.business_id):
        for client_id in some:
            _one_week_in_the_orm(client_id)
    looped = (perf_counter() - started) / _LOOPED * CLIENTS
    return Ratio(
        path=f"the week of {CLIENTS:,} clients against a loop in the ORM, all columns too ({_LOOPED} clients, scaled)",
        ours=f"{ours * 1000:,.0f} ms",
        baseline=f"{looped * 1000:,.0f} ms",
        ratio=looped / ours,
        target=40,
        spread=(looped / ours, looped / ours),
    )


def _rebuild(few: _Trained) -> Ratio:
    def rebuild() -> None:
        rebuild_weeks(few.business_id, timezone.now())

    pairs = [(few.ours(rebuild), few.by_hand()) for _ in range(_RUNS)]
    clients, weeks = HISTORY
    return _ratio(
        f"rebuild of {clients} clients x {weeks} weeks, marks and flags too, against the statement by hand",
        pairs[1:],
        target=1.3,
    )


def _late_log(few: _Trained, work: Callable[[UUID], object], what: str) -> Ratio:
    """Refresh one week of a client with a history against bare SQL for the same week."""
    client_id = few.client_ids[0]
    one = _Trained(few.business_id, [client_id], 1)
    pairs = []
    for run in range(12):
        with business_scope(few.business_id):
            SetLog.objects.filter(client_id=client_id, local_date=MONDAY).update(reps=3 + run % 2)
            mark_weeks_of_logs(performed=[(client_id, MONDAY)], week_start=0, now=timezone.now())
        started = perf_counter()
        work(few.business_id)
        pairs.append((perf_counter() - started, one.by_hand()))
    return _ratio(f"one late log: {what}, against bare SQL for the week", pairs[2:], target=3)


def _row_only(business_id: UUID) -> None:
    """Take the mark, store the row and clear the mark, as a refresh does before and after it asks the rules."""
    with business_scope(business_id):
        marks = take_stale_weeks(limit=WEEKS_A_PIECE)
    with business_scope(business_id):
        store_client_weeks(weeks=[(mark.client_id, mark.week_start) for mark in marks])
        clear_stale_weeks(marks=marks)


def _refreshed(business_id: UUID) -> None:
    refresh_weeks(business_id, timezone.now())


def _ratio(path: str, pairs: Sequence[tuple[float, float]], *, target: float) -> Ratio:
    own, theirs = (median(times) for times in zip(*pairs, strict=True))
    ratios = [ours / by_hand for ours, by_hand in pairs]
    return Ratio(
        path=path,
        ours=f"{own * 1000:,.1f} ms",
        baseline=f"{theirs * 1000:,.1f} ms",
        ratio=own / theirs,
        target=target,
        spread=(min(ratios), max(ratios)),
        at_most=True,
    )


def _one_week_in_the_orm(client_id: UUID) -> None:
    """What one would write first: a client's rows fetched by the ORM, summed in Python, and stored."""
    facts = week_facts(weeks=[(client_id, MONDAY)])[client_id, MONDAY]
    figures = json.loads(json.dumps(asdict(weekly_figures(facts)), default=str))
    week_start = date.fromisoformat(figures.pop("week_start"))
    ClientWeek.objects.update_or_create(client_id=client_id, week_start=week_start, defaults=figures)
