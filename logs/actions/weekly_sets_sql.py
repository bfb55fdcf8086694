"""The sets of a week in SQL: what each came to, and what they add up to.

Parts of the statement of `weekly_sql.py`; the references are `logs/analysis/counted_sets.py`, `moved_loads.py`,
`set_tension.py` and the sets' part of `plan_adherence.py`.
"""

from typing import Final

_TEMPO_PARTS: Final = ("eccentric", "lengthened", "concentric", "shortened")
"""The parts of a tempo, as it is written and as the plan's figures have them."""


def _seconds(phase: str) -> str:
    """Read a part of the tempo that the log says, `41X1` or with a separator, else of the plan's; X as 1, A as -1."""
    place = _TEMPO_PARTS.index(phase) + 1
    text = (
        f"CASE WHEN s.tempo ~ '[-/.]' THEN split_part(translate(btrim(s.tempo), '/.', '--'), '-', {place}) "
        f"ELSE substr(btrim(s.tempo), {place}, 1) END"
    )
    letters = "WHEN 'X' THEN 1 WHEN 'A' THEN -1" if phase == "concentric" else "WHEN '' THEN NULL"
    said = f"CASE upper({text}) {letters} ELSE ({text})::int END"
    return f"CASE WHEN s.tempo <> '' THEN {said} ELSE s.set_figures[s.place_no][{place}] END AS {phase}_s"


def _measured(phase: str) -> str:
    return f"CASE WHEN s.phase_source <> '' THEN (s.phase_s ->> '{phase}')::numeric END AS {phase}_done_s"


# Stages, each a sub-query that OFFSET 0 keeps from being merged with the next, so that nothing is computed twice.
# `place_no` is where the plan's arrays have this very set: n - 1 places after the slot's first.
SETS: Final = f"""
found AS (
  SELECT s.*, CASE WHEN s.set_slots[s.slot_at + s.set_number - 1] = s.slot_key
    THEN s.slot_at + s.set_number - 1 END AS place_no
  FROM (
    SELECT t.session_no, t.week_no, t.here, t.plan_id, t.place, t.slot_classes, t.set_slots, t.set_figures,
      t.set_loads_kg, t.bodyweights_kg, t.bodyweights, s.exercise_id, s.slot_key, s.set_number, s.side, s.kind,
      s.outcome, s.machine, s.reps, s.segments, s.load_kg, s.load_basis, s.in_reserve, s.rpe, s.tempo, s.tempo_class,
      s.duration_s, s.phase_s, s.phase_source, s.swapped, array_position(t.set_slots, s.slot_key) AS slot_at
    FROM session t CROSS JOIN LATERAL (
      SELECT * FROM logs_setlog s WHERE s.business_id = %(business)s AND s.session_log_id = t.id
        AND s.deleted_at IS NULL AND s.outcome <> 'skipped' AND s.kind <> ALL (%(uncounted)s) OFFSET 0
    ) s
    OFFSET 0
  ) s
  OFFSET 0
),
read AS (
  SELECT s.session_no, s.week_no, s.here, s.exercise_id, s.slot_key, s.set_number, s.side, s.machine, s.reps,
    CASE WHEN e.loading = ANY (%(place_bound)s) THEN s.place ELSE '' END AS place,
    coalesce(s.load_kg, CASE WHEN s.load_basis = 'added' AND e.loading <> 'band' THEN 0 END) AS load_kg,
    CASE WHEN s.load_basis = 'each_hand' AND s.side = 'both' THEN %(hands)s ELSE 1 END AS hands,
    CASE WHEN s.segments IS NOT NULL AND jsonb_typeof(s.segments) = 'array' AND s.segments <> '[]'
      THEN s.segments END AS segments,
    CASE WHEN s.in_reserve IS NOT NULL THEN s.in_reserve
      WHEN s.rpe >= %(no_reserve)s THEN 0 WHEN s.rpe IS NOT NULL THEN %(rpe_top)s - s.rpe
      WHEN s.kind = 'to_limit' OR s.outcome = 'failed' THEN 0 END AS reserve,
    CASE WHEN s.in_reserve IS NOT NULL THEN %(rpe_top)s - s.in_reserve ELSE s.rpe END AS effort,
    coalesce(nullif(s.tempo_class, ''),
      CASE WHEN s.set_number > 0 THEN nullif(s.slot_classes -> s.slot_key ->> (s.set_number - 1), '') END,
      'unspecified') AS tempo_class,
    CASE WHEN s.load_basis <> 'added' OR e.bodyweight_share = 0 THEN 0
      ELSE round(s.bodyweights_kg * e.bodyweight_share, 30) / s.bodyweights END AS body_kg,
    {", ".join(map(_seconds, _TEMPO_PARTS))},
    {", ".join(map(_measured, _TEMPO_PARTS))},
    e.restful_end, CASE WHEN s.side = 'both' THEN coalesce(s.set_figures[s.place_no][6], 1) ELSE 1 END AS sides,
    s.plan_id IS NOT NULL AS counts, s.slot_at IS NOT NULL AND s.place_no IS NULL AS beyond,
    s.place_no IS NOT NULL AND s.set_figures[s.place_no][5] IS NULL AS uncounted,
    CASE WHEN e.measure = 'seconds' THEN s.duration_s END AS held_s, s.duration_s,
    CASE WHEN s.plan_id IS NOT NULL AND s.swapped IS NULL AND s.load_kg IS NOT NULL
      AND s.set_loads_kg[s.place_no] > 0 THEN s.set_loads_kg[s.place_no] END AS asked_kg, s.load_kg AS lifted_kg
  FROM found s JOIN programs_exercise e ON e.business_id = %(business)s AND e.id = s.exercise_id
  OFFSET 0
)"""


def _rushed(phase: str) -> str:
    return f"{phase}_done_s < {phase}_s - greatest(%(tempo_s)s, %(tempo_ratio)s * {phase}_s)"


def _off(phase: str) -> str:
    """A pause that was asked for: at the restful end lingered, elsewhere rushed."""
    lingered = f"{phase}_done_s > {phase}_s + greatest(%(tempo_s)s, %(tempo_ratio)s * {phase}_s)"
    return f"CASE WHEN restful_end = '{phase}' THEN {lingered} ELSE {_rushed(phase)} END"


_JUDGED: Final = " OR ".join(
    f"({phase}_s > 0 AND {phase}_done_s IS NOT NULL)" for phase in ("eccentric", "lengthened", "shortened")
)
_FAULTY: Final = (
    f"coalesce(eccentric_s > 0 AND {_rushed('eccentric')}, false)"
    f" OR coalesce(lengthened_s > 0 AND {_off('lengthened')}, false)"
    f" OR coalesce(shortened_s > 0 AND {_off('shortened')}, false)"
)

MOVED: Final = f"""
moved AS (
  SELECT session_no, week_no, here, exercise_id, slot_key, set_number, side, place, machine, reps, load_kg, hands,
    segments, reserve, effort, tempo_class, held_s, duration_s, sides, counts, beyond, uncounted, lifted_kg, asked_kg,
    CASE WHEN body_kg = 0 THEN 0 ELSE round_half_even(body_kg, 6) END AS body_kg,
    eccentric_s + lengthened_s + abs(concentric_s) + shortened_s AS repetition_s,
    eccentric_s + lengthened_s + abs(concentric_s) + shortened_s - CASE WHEN concentric_s < 0 THEN 1 ELSE 0 END
      - CASE restful_end WHEN 'lengthened' THEN lengthened_s WHEN 'shortened' THEN shortened_s ELSE 0 END AS working_s,
    eccentric_done_s + coalesce(lengthened_done_s, CASE WHEN lengthened_s = 0 THEN 0 END) + concentric_done_s
      + coalesce(shortened_done_s, CASE WHEN shortened_s = 0 THEN 0 END) AS repetition_done_s,
    CASE WHEN NOT counts THEN NULL WHEN {_JUDGED} THEN {_FAULTY} END AS tempo_faulty
  FROM read
  OFFSET 0
),
segmented AS (
  SELECT m.*, load_kg * hands + body_kg AS weight_kg, CASE WHEN segments IS NOT NULL THEN (
    SELECT ARRAY[sum(part.reps), min(part.reps) FILTER (WHERE part.place = 1),
      min(part.kg) FILTER (WHERE part.place = 1),
      CASE WHEN bool_or(part.reps > 0 AND (part.kg * m.hands + m.body_kg) IS NULL) THEN NULL
        ELSE coalesce(sum((part.kg * m.hands + m.body_kg) * part.reps) FILTER (
          WHERE part.reps > 0 AND part.kg * m.hands + m.body_kg > 0), 0) END]
    FROM (
      SELECT place, coalesce((segment ->> 'reps')::int, 0) AS reps,
        coalesce((segment ->> 'load_kg')::numeric, m.load_kg) AS kg
      FROM jsonb_array_elements(m.segments) WITH ORDINALITY AS t (segment, place)
    ) part
  ) END AS parts
  FROM moved m
  OFFSET 0
),
parted AS (
  SELECT s.*, CASE WHEN segments IS NULL THEN coalesce(reps, 0) ELSE parts[1]::int END AS all_reps,
    CASE WHEN segments IS NULL THEN reps ELSE parts[1]::int END AS counted_reps,
    CASE WHEN segments IS NULL THEN reps ELSE parts[2]::int END AS first_reps,
    CASE WHEN segments IS NULL THEN load_kg ELSE parts[3] END AS first_kg,
    CASE WHEN segments IS NOT NULL THEN parts[4] WHEN coalesce(reps, 0) = 0 OR weight_kg < 0 THEN 0
      ELSE weight_kg * reps END AS moved_kg
  FROM segmented s
  OFFSET 0
),
performed AS MATERIALIZED (
  SELECT session_no, week_no, here, exercise_id, slot_key, set_number, side, place, machine, tempo_class, reserve,
    effort, all_reps AS reps, moved_kg, counted_reps * repetition_s * sides AS tension_s,
    counted_reps * working_s * sides AS working_s,
    CASE WHEN counted_reps * repetition_s IS NULL THEN held_s END AS held_s,
    CASE WHEN counted_reps IS NULL AND held_s IS NULL THEN duration_s END AS timed_s,
    counted_reps * repetition_done_s * sides AS measured_s,
    CASE WHEN NOT counts OR beyond OR uncounted THEN 0 ELSE all_reps * sides END AS plan_reps,
    asked_kg, CASE WHEN asked_kg IS NOT NULL THEN lifted_kg END AS lifted_kg, tempo_faulty,
    CASE WHEN here AND tempo_class <> 'assisted' AND first_reps > 0 AND reserve <= %(line_reserve)s
        AND first_reps + reserve <= %(line_reps)s AND first_kg + body_kg > 0
      THEN (first_kg + body_kg) * (CASE WHEN first_reps + reserve = 1 THEN 30 ELSE 30 + first_reps + reserve END)
        - 30 * body_kg END AS maximum_30
  FROM parted
)"""

_COUNTS: Final = {
    "work": "true",
    "hard": "reserve <= %(hard)s",
    "unknown_effort": "reserve IS NULL",
    "unknown_load": "moved_kg IS NULL",
    "unknown_tension": "coalesce(tension_s, held_s, timed_s) IS NULL",
    "measured": "measured_s IS NOT NULL",
    "load_judged": "asked_kg IS NOT NULL",
    "tempo_judged": "tempo_faulty IS NOT NULL",
    "tempo_faulty": "tempo_faulty",
}
_SUMS: Final = {
    "reps": "reps",
    "moved_kg": "moved_kg",
    "effort": "effort",
    "tension_s": "tension_s",
    "working_s": "working_s",
    "held_s": "held_s",
    "timed_s": "timed_s",
    "measured_s": "measured_s",
    "plan_reps": "plan_reps",
    "lifted_kg": "lifted_kg",
    "asked_kg": "asked_kg",
}
_OF_EACH: Final = ", ".join(f"CASE WHEN {condition} THEN 1 ELSE 0 END AS {name}" for name, condition in _COUNTS.items())
_OF_SIDES: Final = ", ".join(
    f"greatest(count(*) FILTER (WHERE side = 'left' AND ({condition})), "
    f"count(*) FILTER (WHERE side = 'right' AND ({condition})))::int AS {name}"
    for name, condition in _COUNTS.items()
)
# Sums of `integer` are kept by value, which those of `bigint` and `numeric` are not: a third of the grouping's price.
_WHOLE: Final = frozenset({"reps", "tension_s", "working_s", "plan_reps"})
_ADDED: Final = ", ".join(
    [f"sum({name})::int AS {name}" for name in (*_COUNTS, "efforts")] + [f"sum({name}) AS {name}" for name in _SUMS]
)

_SUMS_OF_SIDES: Final = ", ".join(f"sum({name}){'::int' * (name in _WHOLE)} AS {name}" for name in _SUMS)

# A row of both sides is a set; the left and the right of one number are one.
SESSION_SETS: Final = f"""
numbered AS (
  SELECT session_no, week_no, here, exercise_id, {_OF_EACH}, {", ".join(_SUMS)},
    CASE WHEN effort IS NOT NULL THEN 1 ELSE 0 END AS efforts
  FROM performed WHERE side = 'both'
  UNION ALL
  SELECT session_no, week_no, here, exercise_id, work, hard, least(unknown_effort, work - hard), unknown_load,
    unknown_tension, measured, load_judged, tempo_judged, tempo_faulty, {", ".join(_SUMS)}, efforts
  FROM (
    SELECT session_no, week_no, here, exercise_id, {_OF_SIDES},
      {_SUMS_OF_SIDES}, count(effort)::int AS efforts
    FROM performed WHERE side <> 'both' GROUP BY session_no, week_no, here, exercise_id, slot_key, set_number
  ) AS sides
),
exercise_session AS MATERIALIZED (
  SELECT session_no, week_no, here, exercise_id, {_ADDED}
  FROM numbered GROUP BY session_no, week_no, here, exercise_id
),
session_sets AS MATERIALIZED (
  SELECT session_no, week_no, here, {_ADDED}, sum(coalesce(tension_s, 0) + coalesce(held_s, 0) + coalesce(timed_s, 0))
    FILTER (WHERE coalesce(tension_s, held_s, timed_s) IS NOT NULL) AS work_s
  FROM exercise_session GROUP BY session_no, week_no, here
)"""

WEEK_OF_SETS: Final = """
set_week AS (
  SELECT week_no, sum(work) AS work, sum(hard) AS hard, sum(unknown_effort) AS unknown_effort,
    sum(unknown_load) AS unknown_load, sum(reps) AS reps, coalesce(sum(moved_kg), 0) AS moved_kg,
    coalesce(sum(tension_s), 0) + coalesce(sum(held_s), 0) AS tension_s,
    coalesce(sum(working_s), 0) + coalesce(sum(held_s), 0) AS working_s,
    sum(unknown_tension) AS unknown_tension, coalesce(sum(measured_s), 0) AS measured_s, sum(measured) AS measured,
    round(sum(effort), 30) / nullif(sum(efforts), 0) AS mean_effort
  FROM session_sets WHERE here GROUP BY week_no
),
exercise_week AS MATERIALIZED (
  SELECT week_no, exercise_id, sum(hard) AS hard FROM exercise_session WHERE here GROUP BY week_no, exercise_id
),
worked AS MATERIALIZED (
  SELECT e.id AS exercise_id, m.muscle, m.worked_first FROM programs_exercise e CROSS JOIN LATERAL (
    SELECT unnest(e.primary_muscles), true UNION
    SELECT u, false FROM unnest(e.secondary_muscles) u WHERE u <> ALL (e.primary_muscles)
  ) AS m (muscle, worked_first)
  WHERE e.business_id = %(business)s AND e.id = ANY (ARRAY(SELECT DISTINCT exercise_id FROM exercise_week))
),
muscle AS (
  SELECT x.week_no, m.muscle, coalesce(sum(x.hard) FILTER (WHERE m.worked_first), 0) AS direct,
    coalesce(sum(x.hard) FILTER (WHERE NOT m.worked_first), 0) AS secondary
  FROM exercise_week x JOIN worked m USING (exercise_id)
  WHERE x.hard > 0 GROUP BY x.week_no, m.muscle
),
muscle_week AS (
  SELECT week_no, ('{' || string_agg(to_json(muscle) || ':{"direct":' || direct || ',"fractional":'
    || direct + %(secondary)s * secondary || ',"total":' || direct + secondary || '}', ',') || '}')::jsonb
    AS muscle_sets
  FROM muscle GROUP BY week_no
)"""
