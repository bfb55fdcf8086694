"""The one statement that computes weekly rows, whatever their number.

It equals `weekly_figures` of `logs/analysis/weekly.py` to the last digit: sums are exact numerics, each quotient is
taken to far more places than are kept and rounded once, half to even. Every threshold comes from the pure package as
a parameter. Estimates are Epley's only; another formula is computed from `week_facts`.
"""

from typing import Any, Final

from logs.actions.weekly_sets_sql import LIFTS, SETS, WEEK_OF_SETS
from logs.analysis.constants import (
    BODYWEIGHT_KNOWN_DAYS,
    DAYS_PER_WEEK,
    HANDS,
    HARD_IN_RESERVE,
    LINE_IN_RESERVE,
    LINE_REPETITIONS_TO_FAILURE,
    PLACE_BOUND_LOADINGS,
    RPE_AT_NO_RESERVE,
    RPE_TOP,
    SECONDARY_SHARE,
    SESSION_MAX_MIN,
    SESSION_OVER_PLANNED_RATIO,
)
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS

CONSTANTS: Final[dict[str, Any]] = {
    "bodyweight_days": BODYWEIGHT_KNOWN_DAYS,
    "days": DAYS_PER_WEEK,
    "hands": HANDS,
    "hard": HARD_IN_RESERVE,
    "line_reserve": LINE_IN_RESERVE,
    "line_reps": LINE_REPETITIONS_TO_FAILURE,
    "no_reserve": RPE_AT_NO_RESERVE,
    "place_bound": sorted(PLACE_BOUND_LOADINGS),
    "rpe_top": RPE_TOP,
    "secondary": SECONDARY_SHARE,
    "max_min": SESSION_MAX_MIN,
    "over_planned": SESSION_OVER_PLANNED_RATIO,
    "uncounted": sorted(UNCOUNTED_SET_KINDS),
}
"""The parameters that are the same of every run."""

# Weeks of another week start (the business has moved it since) are not aligned and have no figures: their rows go.
_WEEK: Final = """
asked AS (
  SELECT t.id, t.client_id, t.week_start, t.aligned, t.week_no
  FROM unnest(%(ids)s::uuid[], %(clients)s::uuid[], %(weeks)s::date[], %(aligned)s::boolean[]) WITH ORDINALITY
    AS t (id, client_id, week_start, aligned, week_no)
),
week AS (SELECT id, client_id, week_start, week_no FROM asked WHERE aligned)"""

_DAYS: Final = """
planned AS (
  SELECT w.week_no, p.local_date, p.state, p.deload, p.state IN ('excused', 'paused') AS neutral,
    CASE WHEN p.state IN ('done', 'done_late') THEN 1
      WHEN p.state <> 'part_done' OR p.planned_work_sets = 0 THEN 0
      ELSE round_half_even(
        least(1, round(coalesce(p.done_work_sets, 0)::numeric, 30) / nullif(p.planned_work_sets, 0)), 6) END AS share
  FROM week w CROSS JOIN LATERAL (
    SELECT * FROM programs_plannedsession p WHERE p.business_id = %(business)s AND p.client_id = w.client_id
      AND p.local_date >= w.week_start AND p.local_date < w.week_start + %(days)s OFFSET 0
  ) p
),
planned_week AS (
  SELECT week_no, bool_or(deload) AS deload, count(*) FILTER (WHERE NOT neutral) AS planned,
    count(*) FILTER (WHERE state = 'done') AS done, count(*) FILTER (WHERE state = 'part_done') AS part_done,
    count(*) FILTER (WHERE state = 'done_late') AS done_late, count(*) FILTER (WHERE state = 'missed') AS missed,
    count(*) FILTER (WHERE neutral) AS excused,
    round(sum(share) FILTER (WHERE NOT neutral), 30) / nullif(count(*) FILTER (WHERE NOT neutral), 0) AS adherence
  FROM planned GROUP BY week_no
),
timed AS (
  SELECT week_no, local_date, session_rpe, planned_high_min, minutes_confirmed,
    coalesce(duration_min, CASE WHEN finished_at >= started_at THEN round_half_even(
      round(extract(epoch FROM finished_at - started_at), 30) / 60, 2) END) AS minutes
  FROM session
),
day_part AS (
  SELECT week_no, local_date, CASE WHEN NOT minutes_confirmed AND (minutes > %(max_min)s
    OR minutes > %(over_planned)s * planned_high_min) THEN NULL ELSE minutes * session_rpe END AS load FROM timed
  UNION ALL
  SELECT week_no, local_date, NULL FROM planned WHERE state IN ('planned', 'missed')
),
day AS (
  SELECT week_no, coalesce(sum(load), 0) AS load, bool_or(load IS NULL) AS unknown
  FROM day_part GROUP BY week_no, local_date
),
load_week AS (
  SELECT week_no, sum(load) AS load, count(*) FILTER (WHERE unknown) AS days_unknown,
    %(days)s * sum(load * load) - sum(load) * sum(load) AS spread
  FROM day GROUP BY week_no
),
session_week AS (SELECT week_no, count(*) AS sessions FROM session GROUP BY week_no),
check_in_week AS (
  SELECT w.week_no, count(*) AS check_ins,
    round(sum(c.sleep), 30) / nullif(count(c.sleep), 0) AS sleep,
    round(sum(c.fatigue), 30) / nullif(count(c.fatigue), 0) AS fatigue,
    round(sum(c.stress), 30) / nullif(count(c.stress), 0) AS stress,
    round(sum(c.soreness), 30) / nullif(count(c.soreness), 0) AS soreness,
    round(sum(c.bodyweight_kg), 30) / nullif(count(c.bodyweight_kg), 0) AS bodyweight_kg
  FROM week w CROSS JOIN LATERAL (
    SELECT * FROM logs_checkin c WHERE c.business_id = %(business)s AND c.client_id = w.client_id
      AND c.local_date >= w.week_start AND c.local_date < w.week_start + %(days)s AND c.deleted_at IS NULL OFFSET 0
  ) c
  GROUP BY w.week_no
)"""

# (mean / SD) squared of seven days is 6 S^2 / (7 (7 Q - S^2)), and `spread` is 7 Q - S^2.
_FIGURES: Final = """
figures AS (
  SELECT w.id, w.client_id, w.week_start, coalesce(p.deload, false) AS deload,
    coalesce(p.planned, 0) AS sessions_planned, coalesce(p.done, 0) AS sessions_done,
    coalesce(p.part_done, 0) AS sessions_part_done, coalesce(p.done_late, 0) AS sessions_done_late,
    coalesce(p.missed, 0) AS sessions_missed, coalesce(p.excused, 0) AS sessions_excused,
    coalesce(s.work, 0) AS work_sets, coalesce(s.hard, 0) AS hard_sets,
    coalesce(s.unknown_effort, 0) AS unknown_effort_sets, coalesce(s.unknown_load, 0) AS unknown_load_sets,
    coalesce(s.reps, 0) AS reps, coalesce(s.moved_kg, 0) AS tonnage_kg,
    coalesce(m.muscle_sets, '{}') AS muscle_sets, coalesce(d.load, 0) AS session_load,
    coalesce(d.days_unknown, 0) AS days_unknown,
    CASE WHEN r.reason = '' THEN round_half_even(sqrt(
      round((%(days)s - 1) * d.load * d.load, 60) / (%(days)s * d.spread)), 6) END AS monotony,
    CASE WHEN r.reason = '' THEN round_half_even(sqrt(
      round((%(days)s - 1) * d.load * d.load * d.load * d.load, 60) / (%(days)s * d.spread)), 6) END AS strain,
    r.reason AS monotony_reason, round_half_even(s.mean_effort, 6) AS mean_effort,
    coalesce(f.lift_values, '{}') AS lift_values, round_half_even(p.adherence, 6) AS adherence_sessions,
    round_half_even(c.sleep, 6) AS mean_sleep, round_half_even(c.fatigue, 6) AS mean_fatigue,
    round_half_even(c.stress, 6) AS mean_stress, round_half_even(c.soreness, 6) AS mean_soreness,
    round_half_even(c.bodyweight_kg, 6) AS mean_bodyweight_kg
  FROM week w
  LEFT JOIN set_week s USING (week_no) LEFT JOIN muscle_week m USING (week_no)
  LEFT JOIN lift_week f USING (week_no) LEFT JOIN planned_week p USING (week_no)
  LEFT JOIN load_week d USING (week_no) LEFT JOIN session_week t USING (week_no)
  LEFT JOIN check_in_week c USING (week_no)
  CROSS JOIN LATERAL (SELECT CASE WHEN d.days_unknown > 0 THEN 'unknown_days' WHEN coalesce(d.load, 0) = 0
    THEN 'all_rest' WHEN d.spread = 0 THEN 'zero_variance' ELSE '' END) AS r (reason)
  WHERE s.work IS NOT NULL OR p.planned IS NOT NULL OR t.sessions IS NOT NULL OR c.check_ins IS NOT NULL
)"""

FIGURES: Final = (
    "deload",
    "sessions_planned",
    "sessions_done",
    "sessions_part_done",
    "sessions_done_late",
    "sessions_missed",
    "sessions_excused",
    "work_sets",
    "hard_sets",
    "unknown_effort_sets",
    "unknown_load_sets",
    "reps",
    "tonnage_kg",
    "muscle_sets",
    "session_load",
    "days_unknown",
    "monotony",
    "strain",
    "monotony_reason",
    "mean_effort",
    "lift_values",
    "adherence_sessions",
    "mean_sleep",
    "mean_fatigue",
    "mean_stress",
    "mean_soreness",
    "mean_bodyweight_kg",
)
"""The figures of a weekly row, as its columns and the fields of `WeekFigures` are named."""

_COLUMNS: Final = ", ".join(FIGURES)
_PARTS: Final = (_WEEK, SETS, WEEK_OF_SETS, LIFTS, _DAYS, _FIGURES)

# Rows that come out as they were are left alone: an update writes and locks for nothing.
STORE_WEEKS: Final = f"""
WITH {", ".join(_PARTS)},
stored AS (
  INSERT INTO logs_clientweek AS c (id, business_id, client_id, week_start, {_COLUMNS})
  SELECT id, %(business)s, client_id, week_start, {_COLUMNS} FROM figures ORDER BY client_id, week_start
  ON CONFLICT (business_id, client_id, week_start)
  DO UPDATE SET {", ".join(f"{name} = excluded.{name}" for name in FIGURES)}
  WHERE ({", ".join(f"c.{name}" for name in FIGURES)})
    IS DISTINCT FROM ({", ".join(f"excluded.{name}" for name in FIGURES)})
  RETURNING 1
),
gone AS (
  DELETE FROM logs_clientweek c USING asked a
  WHERE c.business_id = %(business)s AND c.client_id = a.client_id AND c.week_start = a.week_start
    AND NOT EXISTS (SELECT FROM figures f WHERE f.client_id = a.client_id AND f.week_start = a.week_start)
  RETURNING 1
)
SELECT (SELECT count(*) FROM stored) + (SELECT count(*) FROM gone)
"""
"""Store the rows of the weeks asked for, delete those of weeks without facts, and tell how many changed."""
