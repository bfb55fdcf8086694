"""The plan of a week and the sessions of its figures in SQL: those performed in it, and those performed for its plan.

Parts of the statement of `weekly_sql.py`; the references are `logs/analysis/adherence.py` and `plan_adherence.py`.
"""

from typing import Final

# Each row starts from a week asked for and takes its rows by an index. OFFSET 0 keeps the planner from turning that
# round: on tables it has no statistics of it would read them whole.
PLANNED: Final = """
planned AS MATERIALIZED (
  SELECT w.week_no, w.week_start, p.id, p.local_date, p.state, p.deload, p.planned_reps, p.planned_work_sets,
    p.state IN ('excused', 'paused') AS neutral, least(coalesce(p.done_work_sets, 0), p.planned_work_sets) AS done_sets,
    CASE WHEN p.state IN ('done', 'done_late') THEN 1
      WHEN p.state <> 'part_done' OR p.planned_work_sets = 0 THEN 0
      ELSE round_half_even(
        least(1, round(coalesce(p.done_work_sets, 0)::numeric, 30) / nullif(p.planned_work_sets, 0)), 6) END AS share
  FROM week w CROSS JOIN LATERAL (
    SELECT * FROM programs_plannedsession p WHERE p.business_id = %(business)s AND p.client_id = w.client_id
      AND p.local_date >= w.week_start AND p.local_date < w.week_start + %(days)s OFFSET 0
  ) p
)"""

# `here` is what was performed in the week; `plan_id` names the session of this week's plan that it was performed for,
# which may be another week's doing.
SESSIONS: Final = """
logged AS (
  SELECT w.week_no, w.week_start, true AS here, l.*
  FROM week w CROSS JOIN LATERAL (
    SELECT l.id, l.client_id, l.local_date, l.planned_session_id, l.place_id, l.session_rpe, l.duration_min,
      l.started_at, l.finished_at, l.minutes_confirmed
    FROM logs_sessionlog l WHERE l.business_id = %(business)s AND l.client_id = w.client_id
      AND l.local_date >= w.week_start AND l.local_date < w.week_start + %(days)s AND l.deleted_at IS NULL OFFSET 0
  ) l
  UNION ALL
  SELECT q.week_no, q.week_start, false, l.*
  FROM planned q CROSS JOIN LATERAL (
    SELECT l.id, l.client_id, l.local_date, l.planned_session_id, l.place_id, l.session_rpe, l.duration_min,
      l.started_at, l.finished_at, l.minutes_confirmed
    FROM logs_sessionlog l WHERE l.business_id = %(business)s AND l.planned_session_id = q.id
      AND (l.local_date < q.week_start OR l.local_date >= q.week_start + %(days)s) AND l.deleted_at IS NULL OFFSET 0
  ) l
  WHERE NOT q.neutral
),
session AS MATERIALIZED (
  SELECT row_number() OVER () AS session_no, l.week_no, l.here, l.id, l.local_date, l.session_rpe,
    CASE WHEN p.local_date >= l.week_start AND p.local_date < l.week_start + %(days)s
      AND p.state NOT IN ('excused', 'paused') THEN p.id END AS plan_id,
    coalesce(l.place_id::text, '') AS place, p.slot_classes, p.set_slots, p.set_figures, p.set_loads_kg,
    CASE WHEN l.minutes_confirmed OR NOT coalesce(m.minutes > %(max_min)s, false)
      AND NOT coalesce(m.minutes > %(over_planned)s * p.planned_high_min, false) THEN m.minutes END AS minutes,
    b.sum_kg AS bodyweights_kg, b.n AS bodyweights
  FROM logged l LEFT JOIN LATERAL (
    SELECT p.id, p.local_date, p.state, p.planned_high_min, p.slot_classes, p.set_slots, p.set_figures, p.set_loads_kg
    FROM programs_plannedsession p WHERE p.business_id = %(business)s AND p.id = l.planned_session_id OFFSET 0
  ) p ON true LEFT JOIN LATERAL (
    SELECT sum(c.bodyweight_kg) AS sum_kg, count(*) AS n FROM logs_checkin c
    WHERE c.business_id = %(business)s AND c.client_id = l.client_id AND c.deleted_at IS NULL
      AND c.local_date BETWEEN l.local_date - %(bodyweight_days)s AND l.local_date AND c.bodyweight_kg IS NOT NULL
    GROUP BY c.local_date ORDER BY c.local_date DESC LIMIT 1
  ) b ON true CROSS JOIN LATERAL (
    SELECT coalesce(l.duration_min, CASE WHEN l.finished_at >= l.started_at THEN round_half_even(
      round(extract(epoch FROM l.finished_at - l.started_at), 30) / 60, 2) END) OFFSET 0
  ) AS m (minutes)
)"""

PLAN_WEEK: Final = """
planned_week AS (
  SELECT week_no, bool_or(deload) AS deload, count(*) FILTER (WHERE NOT neutral) AS planned,
    count(*) FILTER (WHERE state = 'done') AS done, count(*) FILTER (WHERE state = 'part_done') AS part_done,
    count(*) FILTER (WHERE state = 'done_late') AS done_late, count(*) FILTER (WHERE state = 'missed') AS missed,
    count(*) FILTER (WHERE neutral) AS excused,
    round(sum(share) FILTER (WHERE NOT neutral), 30) / nullif(count(*) FILTER (WHERE NOT neutral), 0) AS adherence,
    coalesce(sum(planned_work_sets) FILTER (WHERE NOT neutral), 0) AS sets_planned,
    coalesce(sum(done_sets) FILTER (WHERE NOT neutral), 0) AS sets_done,
    coalesce(sum(planned_reps) FILTER (WHERE NOT neutral), 0) AS reps_planned
  FROM planned GROUP BY week_no
),
for_plan AS (
  SELECT t.week_no, t.plan_id, sum(x.plan_reps) AS reps, sum(x.load_judged) AS load_judged,
    sum(x.lifted_kg) AS lifted_kg, sum(x.asked_kg) AS asked_kg, sum(x.tempo_judged) AS tempo_judged,
    sum(x.tempo_faulty) AS tempo_faulty
  FROM session_sets x JOIN session t USING (session_no) WHERE t.plan_id IS NOT NULL GROUP BY t.week_no, t.plan_id
),
done_week AS (
  SELECT d.week_no, sum(least(d.reps, q.planned_reps)) AS reps_done, sum(d.load_judged) AS load_judged,
    sum(d.lifted_kg) AS lifted_kg, sum(d.asked_kg) AS asked_kg, sum(d.tempo_judged) AS tempo_judged,
    sum(d.tempo_judged - d.tempo_faulty) AS tempo_kept
  FROM for_plan d JOIN planned q ON q.week_no = d.week_no AND q.id = d.plan_id GROUP BY d.week_no
)"""

DAYS: Final = """
day_part AS (
  SELECT week_no, local_date, minutes * session_rpe AS load FROM session WHERE here
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
session_week AS (
  SELECT t.week_no, count(*) AS sessions, coalesce(sum(t.minutes), 0) AS minutes,
    count(*) FILTER (WHERE t.minutes IS NULL) AS unknown_minutes,
    sum(x.work_s) FILTER (WHERE t.minutes IS NOT NULL) AS work_s
  FROM session t LEFT JOIN session_sets x USING (session_no) WHERE t.here GROUP BY t.week_no
)"""

# A reading of no variability at all has no logarithm.
CHECK_INS: Final = """
check_in_week AS (
  SELECT w.week_no, count(*) AS check_ins,
    round(sum(c.sleep), 30) / nullif(count(c.sleep), 0) AS sleep,
    round(sum(c.fatigue), 30) / nullif(count(c.fatigue), 0) AS fatigue,
    round(sum(c.stress), 30) / nullif(count(c.stress), 0) AS stress,
    round(sum(c.soreness), 30) / nullif(count(c.soreness), 0) AS soreness,
    round(sum(c.bodyweight_kg), 30) / nullif(count(c.bodyweight_kg), 0) AS bodyweight_kg,
    round(sum(c.resting_hr_bpm), 30) / nullif(count(c.resting_hr_bpm), 0) AS resting_hr_bpm,
    count(c.resting_hr_bpm) AS resting_hr_readings,
    round(sum(ln(round(c.hrv_rmssd_ms, 20))) FILTER (WHERE c.hrv_rmssd_ms > 0), 30)
      / nullif(count(*) FILTER (WHERE c.hrv_rmssd_ms > 0), 0) AS ln_rmssd,
    count(*) FILTER (WHERE c.hrv_rmssd_ms > 0) AS hrv_readings
  FROM week w CROSS JOIN LATERAL (
    SELECT * FROM logs_checkin c WHERE c.business_id = %(business)s AND c.client_id = w.client_id
      AND c.local_date >= w.week_start AND c.local_date < w.week_start + %(days)s AND c.deleted_at IS NULL OFFSET 0
  ) c
  GROUP BY w.week_no
)"""
