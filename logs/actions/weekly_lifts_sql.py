"""What the lifts of a week were worth in SQL.

Part of the statement of `weekly_sql.py`; the reference is `logs/analysis/lift_values.py`.
"""

from typing import Final

# Objects are written as text and read once a week of a client: building them of values takes three times as long.
# Exact thirtieths up to the end: Epley's formula divides by 30, and the median is rounded once. Up to four sessions
# the median is what the least and the greatest leave over.
LIFTS: Final = """
best AS (
  SELECT week_no, exercise_id, side, tempo_class, place, machine, max(maximum_30) AS best_30
  FROM performed WHERE maximum_30 IS NOT NULL
  GROUP BY week_no, session_no, exercise_id, side, tempo_class, place, machine
),
line AS (
  SELECT week_no, exercise_id, side, tempo_class, place, machine, count(*) AS sessions, sum(best_30) AS sum_30,
    min(best_30) AS least_30, max(best_30) AS greatest_30, array_agg(best_30) AS bests_30
  FROM best GROUP BY week_no, exercise_id, side, tempo_class, place, machine
),
valued AS (
  SELECT l.week_no, l.exercise_id, l.side, l.tempo_class, l.place, l.machine, l.sessions,
    CASE WHEN l.sessions <= 2 THEN round(l.sum_30, 30) / (30 * l.sessions)
      WHEN l.sessions <= 4 THEN round(l.sum_30 - l.least_30 - l.greatest_30, 30) / (30 * (l.sessions - 2))
      ELSE (
        SELECT round(sum(o.best_30), 30) / (30 * count(*))
        FROM (SELECT b AS best_30, row_number() OVER (ORDER BY b) AS rank FROM unnest(l.bests_30) b) o
        WHERE o.rank IN ((l.sessions + 1) / 2, (l.sessions + 2) / 2)
      ) END AS value_kg
  FROM line l OFFSET 0
),
lift_week AS (
  SELECT v.week_no, ('{' || string_agg(
    to_json(concat_ws('/', e.key, v.side, v.tempo_class, CASE WHEN v.place || v.machine <> '' THEN v.place END,
      nullif(v.machine, ''))) || ':{"exercise":' || to_json(e.key) || ',"side":"' || v.side || '","tempo_class":"'
      || v.tempo_class || '","machine":' || to_json(v.machine) || ',"place":"' || v.place || '","value_kg":'
      || round_half_even(v.value_kg, 6) || ',"sessions":' || v.sessions || ',"formula":"epley"}',
    ',') || '}')::jsonb AS lift_values
  FROM valued v JOIN programs_exercise e ON e.business_id = %(business)s AND e.id = v.exercise_id
  GROUP BY v.week_no
)"""
