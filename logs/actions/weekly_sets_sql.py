"""The sets of a week in SQL: what each came to, what they add up to, and what the lifts were worth.

Parts of the statement of `weekly_sql.py`; the reference is `logs/analysis/counted_sets.py`.
"""

from typing import Final

# Each row starts from a session of the week, and takes the sets, plan and bodyweight of that session by an index.
# OFFSET 0 keeps the planner from turning that round: on tables it has no statistics of it would read them whole.
SETS: Final = """
session AS MATERIALIZED (
  SELECT row_number() OVER () AS session_no, w.week_no, l.id, l.local_date, l.session_rpe, l.duration_min,
    l.started_at, l.finished_at, l.minutes_confirmed, coalesce(l.place_id::text, '') AS place, p.planned_high_min,
    p.slot_classes, b.sum_kg AS bodyweights_kg, b.n AS bodyweights
  FROM week w CROSS JOIN LATERAL (
    SELECT * FROM logs_sessionlog l WHERE l.business_id = %(business)s AND l.client_id = w.client_id
      AND l.local_date >= w.week_start AND l.local_date < w.week_start + %(days)s AND l.deleted_at IS NULL OFFSET 0
  ) l LEFT JOIN LATERAL (
    SELECT * FROM programs_plannedsession p
    WHERE p.business_id = %(business)s AND p.id = l.planned_session_id OFFSET 0
  ) p ON true LEFT JOIN LATERAL (
    SELECT sum(c.bodyweight_kg) AS sum_kg, count(*) AS n FROM logs_checkin c
    WHERE c.business_id = %(business)s AND c.client_id = w.client_id AND c.deleted_at IS NULL
      AND c.local_date BETWEEN l.local_date - %(bodyweight_days)s AND l.local_date AND c.bodyweight_kg IS NOT NULL
    GROUP BY c.local_date ORDER BY c.local_date DESC LIMIT 1
  ) b ON true
),
counted AS (
  SELECT t.session_no, t.week_no, s.exercise_id, e.key AS exercise,
    s.slot_key, s.set_number, s.side, s.machine, s.reps,
    CASE WHEN e.loading = ANY (%(place_bound)s) THEN t.place ELSE '' END AS place,
    coalesce(s.load_kg, CASE WHEN s.load_basis = 'added' AND e.loading <> 'band' THEN 0 END) AS load_kg,
    CASE WHEN s.load_basis = 'each_hand' AND s.side = 'both' THEN %(hands)s ELSE 1 END AS hands,
    CASE WHEN jsonb_typeof(s.segments) = 'array' AND s.segments <> '[]' THEN s.segments END AS segments,
    CASE WHEN s.in_reserve IS NOT NULL THEN s.in_reserve
      WHEN s.rpe >= %(no_reserve)s THEN 0 WHEN s.rpe IS NOT NULL THEN %(rpe_top)s - s.rpe
      WHEN s.kind = 'to_limit' OR s.outcome = 'failed' THEN 0 END AS reserve,
    CASE WHEN s.in_reserve IS NOT NULL THEN %(rpe_top)s - s.in_reserve ELSE s.rpe END AS effort,
    coalesce(nullif(s.tempo_class, ''),
      CASE WHEN s.set_number > 0 THEN nullif(t.slot_classes -> s.slot_key ->> (s.set_number - 1), '') END,
      'unspecified') AS tempo_class,
    CASE WHEN s.load_basis <> 'added' OR e.bodyweight_share = 0 THEN 0
      ELSE round(t.bodyweights_kg * e.bodyweight_share, 30) / t.bodyweights END AS body_kg
  FROM session t CROSS JOIN LATERAL (
    SELECT * FROM logs_setlog s WHERE s.business_id = %(business)s AND s.session_log_id = t.id
      AND s.deleted_at IS NULL AND s.outcome <> 'skipped' AND s.kind <> ALL (%(uncounted)s) OFFSET 0
  ) s JOIN programs_exercise e ON e.business_id = %(business)s AND e.id = s.exercise_id
),
moved AS MATERIALIZED (
  SELECT session_no, week_no, exercise_id, exercise, slot_key, set_number, side, place, machine, reps, load_kg, hands,
    segments, reserve, effort, tempo_class, round_half_even(body_kg, 6) AS body_kg FROM counted
),
performed AS (
  SELECT session_no, week_no, exercise_id, exercise, slot_key, set_number, side, place, machine, tempo_class, reserve,
    effort, body_kg, coalesce(reps, 0) AS reps, reps AS first_reps, load_kg AS first_kg,
    CASE WHEN coalesce(reps, 0) = 0 OR load_kg * hands + body_kg < 0 THEN 0
      ELSE (load_kg * hands + body_kg) * reps END AS moved_kg
  FROM moved WHERE segments IS NULL
  UNION ALL
  SELECT session_no, week_no, exercise_id, exercise, slot_key, set_number, side, place, machine, tempo_class, reserve,
    effort, body_kg, g.reps, g.first_reps, g.first_kg, g.moved_kg
  FROM moved m CROSS JOIN LATERAL (
    SELECT sum(part.reps) AS reps,
      min(part.reps) FILTER (WHERE part.place = 1) AS first_reps,
      min(part.kg) FILTER (WHERE part.place = 1) AS first_kg,
      CASE WHEN bool_or(part.reps > 0 AND (part.kg * m.hands + m.body_kg) IS NULL) THEN NULL
        ELSE coalesce(sum((part.kg * m.hands + m.body_kg) * part.reps) FILTER (
          WHERE part.reps > 0 AND part.kg * m.hands + m.body_kg > 0), 0) END AS moved_kg
    FROM (
      SELECT place, coalesce((segment ->> 'reps')::int, 0) AS reps,
        coalesce((segment ->> 'load_kg')::numeric, m.load_kg) AS kg
      FROM jsonb_array_elements(m.segments) WITH ORDINALITY AS t (segment, place)
    ) part
  ) g
  WHERE m.segments IS NOT NULL
)"""


def _sets_where(condition: str) -> str:
    """Count sets, the left and the right of one number as one."""
    of = "count(*) FILTER (WHERE {} AND side = '{}')"
    left, right = of.format(condition, "left"), of.format(condition, "right")
    return f"{of.format(condition, 'both')} + greatest({left}, {right})"


WEEK_OF_SETS: Final = f"""
set_group AS (
  SELECT week_no, exercise_id, {_sets_where("true")} AS work,
    {_sets_where("reserve <= %(hard)s")} AS hard, {_sets_where("reserve IS NULL")} AS unknown_effort,
    {_sets_where("moved_kg IS NULL")} AS unknown_load,
    sum(reps) AS reps, sum(moved_kg) AS moved_kg, sum(effort) AS effort, count(effort) AS efforts
  FROM performed GROUP BY week_no, session_no, exercise_id, slot_key, set_number
),
exercise_week AS (
  SELECT week_no, exercise_id, sum(work) AS work, sum(hard) AS hard,
    sum(least(unknown_effort, work - hard)) AS unknown_effort, sum(unknown_load) AS unknown_load, sum(reps) AS reps,
    coalesce(sum(moved_kg), 0) AS moved_kg, sum(effort) AS effort, sum(efforts) AS efforts
  FROM set_group GROUP BY week_no, exercise_id
),
set_week AS (
  SELECT week_no, sum(work) AS work, sum(hard) AS hard, sum(unknown_effort) AS unknown_effort,
    sum(unknown_load) AS unknown_load, sum(reps) AS reps, sum(moved_kg) AS moved_kg,
    round(sum(effort), 30) / nullif(sum(efforts), 0) AS mean_effort
  FROM exercise_week GROUP BY week_no
),
muscle AS (
  SELECT x.week_no, m.muscle, coalesce(sum(x.hard) FILTER (WHERE m.worked_first), 0) AS direct,
    coalesce(sum(x.hard) FILTER (WHERE NOT m.worked_first), 0) AS secondary
  FROM exercise_week x JOIN programs_exercise e ON e.business_id = %(business)s AND e.id = x.exercise_id
  CROSS JOIN LATERAL (
    SELECT unnest(e.primary_muscles), true UNION
    SELECT u, false FROM unnest(e.secondary_muscles) u WHERE u <> ALL (e.primary_muscles)
  ) AS m (muscle, worked_first)
  WHERE x.hard > 0 GROUP BY x.week_no, m.muscle
),
muscle_week AS (
  SELECT week_no, jsonb_object_agg(muscle, jsonb_build_object(
    'direct', direct, 'fractional', direct + %(secondary)s * secondary, 'total', direct + secondary)) AS muscle_sets
  FROM muscle GROUP BY week_no
)"""

# The greatest of a session is taken before it is rounded, which is dear: rounding keeps the order.
LIFTS: Final = """
estimate AS (
  SELECT week_no, session_no, exercise, side, tempo_class, place, machine, body_kg,
    round(max((first_kg + body_kg)
      * (CASE WHEN first_reps + reserve = 1 THEN 30 ELSE 30 + first_reps + reserve END)), 20) / 30 AS maximum_kg
  FROM performed
  WHERE tempo_class <> 'assisted' AND first_reps > 0 AND reserve <= %(line_reserve)s
    AND first_reps + reserve <= %(line_reps)s AND first_kg + body_kg > 0
  GROUP BY week_no, session_no, exercise, side, tempo_class, place, machine, body_kg
),
best AS (
  SELECT week_no, exercise, side, tempo_class, place, machine, max(round_half_even(maximum_kg, 6) - body_kg) AS value_kg
  FROM estimate GROUP BY week_no, session_no, exercise, side, tempo_class, place, machine
),
ranked AS (
  SELECT best.*, count(*) OVER line AS sessions, row_number() OVER (line ORDER BY value_kg) AS rank
  FROM best WINDOW line AS (PARTITION BY week_no, exercise, side, tempo_class, place, machine)
),
middle AS (
  SELECT week_no, exercise, side, tempo_class, place, machine, sessions, sum(value_kg) / count(*) AS value_kg
  FROM ranked WHERE rank IN ((sessions + 1) / 2, (sessions + 2) / 2)
  GROUP BY week_no, exercise, side, tempo_class, place, machine, sessions
),
lift_week AS (
  SELECT week_no, jsonb_object_agg(
    concat_ws('/', exercise, side, tempo_class, CASE WHEN place || machine <> '' THEN place END, nullif(machine, '')),
    jsonb_build_object('exercise', exercise, 'side', side, 'tempo_class', tempo_class, 'machine', machine,
      'place', place, 'value_kg', round_half_even(value_kg, 6), 'sessions', sessions, 'formula', 'epley')) AS lift_values
  FROM middle GROUP BY week_no
)"""
