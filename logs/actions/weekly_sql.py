"""The one statement that computes weekly rows, whatever their number.

It equals `weekly_figures` of `logs/analysis/weekly.py` to the last digit: sums are exact numerics, each quotient is
taken to far more places than are kept and rounded once, half to even. Every threshold comes from the pure package as
a parameter. Estimates are Epley's only; another formula is computed from `week_facts`.
"""

from dataclasses import fields
from typing import Any, Final

from logs.actions.weekly_lifts_sql import LIFTS
from logs.actions.weekly_plan_sql import CHECK_INS, DAYS, PLAN_WEEK, PLANNED, SESSIONS
from logs.actions.weekly_sets_sql import MOVED, SESSION_SETS, SETS, WEEK_OF_SETS
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
    TEMPO_TOLERANCE_RATIO,
    TEMPO_TOLERANCE_S,
)
from logs.analysis.week_figures import WeekFigures
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
    "tempo_ratio": TEMPO_TOLERANCE_RATIO,
    "tempo_s": TEMPO_TOLERANCE_S,
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

FIGURES: Final = tuple(field.name for field in fields(WeekFigures) if field.name != "week_start")
"""The figures of a weekly row, as its columns and the fields of `WeekFigures` are named."""

# (mean / SD) squared of seven days is 6 S^2 / (7 (7 Q - S^2)), and `spread` is 7 Q - S^2.
_RAW: Final = """
raw AS (
  SELECT w.id, w.client_id, w.week_start, coalesce(p.deload, false) AS deload,
    coalesce(p.planned, 0) AS sessions_planned, coalesce(p.done, 0) AS sessions_done,
    coalesce(p.part_done, 0) AS sessions_part_done, coalesce(p.done_late, 0) AS sessions_done_late,
    coalesce(p.missed, 0) AS sessions_missed, coalesce(p.excused, 0) AS sessions_excused,
    coalesce(s.work, 0) AS work_sets, coalesce(s.hard, 0) AS hard_sets,
    coalesce(s.unknown_effort, 0) AS unknown_effort_sets, coalesce(s.unknown_load, 0) AS unknown_load_sets,
    coalesce(s.reps, 0) AS reps, coalesce(s.moved_kg, 0) AS tonnage_kg,
    coalesce(s.tension_s, 0) AS tension_s, coalesce(s.working_s, 0) AS working_s,
    coalesce(s.unknown_tension, 0) AS unknown_tension_sets,
    coalesce(s.measured_s, 0) AS measured_tension_s, coalesce(s.measured, 0) AS measured_sets,
    coalesce(t.minutes, 0) AS session_min, coalesce(t.unknown_minutes, 0) AS unknown_minutes_sessions,
    round(t.work_s, 30) / nullif(t.minutes, 0) AS density_s_per_min,
    coalesce(m.muscle_sets, '{}') AS muscle_sets, coalesce(d.load, 0) AS session_load,
    coalesce(d.days_unknown, 0) AS days_unknown,
    CASE WHEN r.reason = '' THEN sqrt(
      round((%(days)s - 1) * d.load * d.load, 60) / (%(days)s * d.spread)) END AS monotony,
    CASE WHEN r.reason = '' THEN sqrt(
      round((%(days)s - 1) * d.load * d.load * d.load * d.load, 60) / (%(days)s * d.spread)) END AS strain,
    r.reason AS monotony_reason, s.mean_effort,
    coalesce(f.lift_values, '{}') AS lift_values, p.adherence AS adherence_sessions,
    coalesce(p.sets_planned, 0) AS sets_planned, coalesce(p.sets_done, 0) AS sets_done,
    round(p.sets_done, 30) / nullif(p.sets_planned, 0) AS adherence_sets,
    coalesce(p.reps_planned, 0) AS reps_planned, coalesce(q.reps_done, 0) AS reps_done,
    round(coalesce(q.reps_done, 0), 30) / nullif(p.reps_planned, 0) AS adherence_reps,
    coalesce(q.load_judged, 0) AS load_judged_sets,
    round(q.lifted_kg, 30) / nullif(q.asked_kg, 0) AS adherence_load,
    coalesce(q.tempo_judged, 0) AS tempo_judged_sets, coalesce(q.tempo_kept, 0) AS tempo_kept_sets,
    round(q.tempo_kept, 30) / nullif(q.tempo_judged, 0) AS adherence_tempo,
    coalesce(c.check_ins, 0) AS check_ins,
    c.sleep AS mean_sleep, c.fatigue AS mean_fatigue, c.stress AS mean_stress, c.soreness AS mean_soreness,
    c.bodyweight_kg AS mean_bodyweight_kg, c.resting_hr_bpm AS mean_resting_hr_bpm,
    coalesce(c.resting_hr_readings, 0) AS resting_hr_readings, c.ln_rmssd AS mean_ln_rmssd,
    coalesce(c.hrv_readings, 0) AS hrv_readings
  FROM week w
  LEFT JOIN set_week s USING (week_no) LEFT JOIN muscle_week m USING (week_no)
  LEFT JOIN lift_week f USING (week_no) LEFT JOIN planned_week p USING (week_no)
  LEFT JOIN load_week d USING (week_no) LEFT JOIN session_week t USING (week_no)
  LEFT JOIN check_in_week c USING (week_no) LEFT JOIN done_week q USING (week_no)
  CROSS JOIN LATERAL (SELECT CASE WHEN d.days_unknown > 0 THEN 'unknown_days' WHEN coalesce(d.load, 0) = 0
    THEN 'all_rest' WHEN d.spread = 0 THEN 'zero_variance' ELSE '' END) AS r (reason)
  WHERE s.work IS NOT NULL OR p.planned IS NOT NULL OR t.sessions IS NOT NULL OR c.check_ins IS NOT NULL
  OFFSET 0
)"""

_QUOTIENTS: Final = (
    "measured_tension_s",
    "density_s_per_min",
    "monotony",
    "strain",
    "mean_effort",
    "adherence_sessions",
    "adherence_sets",
    "adherence_reps",
    "adherence_load",
    "adherence_tempo",
    "mean_sleep",
    "mean_fatigue",
    "mean_stress",
    "mean_soreness",
    "mean_bodyweight_kg",
    "mean_resting_hr_bpm",
    "mean_ln_rmssd",
)
_KEPT: Final = ", ".join(f"round_half_even({name}, 6) AS {name}" if name in _QUOTIENTS else name for name in FIGURES)
# Rounded from columns, not from expressions: the planner writes the rounding into the statement only if what is
# rounded is cheap, and would then compute it as often as the rounding names it.
_FIGURES: Final = f"""
figures AS (
  SELECT id, client_id, week_start, {_KEPT} FROM raw
)"""

_COLUMNS: Final = ", ".join(FIGURES)
_PARTS: Final = (
    _WEEK,
    PLANNED,
    SESSIONS,
    SETS,
    MOVED,
    SESSION_SETS,
    WEEK_OF_SETS,
    LIFTS,
    PLAN_WEEK,
    DAYS,
    CHECK_INS,
    _RAW,
    _FIGURES,
)

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
