"""Weeks of training for the benchmarks of weekly rows, written by a few statements, committed."""

from collections.abc import Sequence
from datetime import date
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import business_scope
from programs.models import Assignment, Program, Variant, Version

MONDAY = date(2026, 3, 2)
SESSIONS_A_WEEK = 3
SETS_A_SESSION = 18
SETS_A_WEEK = SESSIONS_A_WEEK * SETS_A_SESSION

_EXERCISES = ("back-squat", "bench-press", "pull-up", "deadlift", "split-squat", "overhead-press")
_SLOTS = ("A1", "A2", "B1", "B2", "C1", "C2")

_PLANNED = """
INSERT INTO programs_plannedsession (id, business_id, assignment_id, client_id, version_id, week_number, day_number,
  template_key, title, deload, local_date, window_start, window_end, zone, state, excuse_reason, cut_reason, prescribed,
  slot_classes, set_slots, set_figures, set_loads_kg, planned_reps, planned_work_sets, planned_low_min,
  planned_high_min, done_work_sets, row_version)
SELECT gen_random_uuid(), %(business)s, a.id, a.client_id, %(version)s, w.week + 1, d.day + 1, 'day', 'Day', false,
  g.day, g.day, g.day, 'Europe/Paris', 'done', '', '', '{}',
  %(classes)s, %(set_slots)s::text[], %(figures)s::smallint[], array_fill(60.0::numeric, ARRAY[%(sets)s]), 5 * %(sets)s,
  %(sets)s, 50, 60, %(sets)s, 1
FROM programs_assignment a CROSS JOIN generate_series(0, %(weeks)s - 1) AS w (week)
CROSS JOIN generate_series(0, %(sessions)s - 1) AS d (day)
CROSS JOIN LATERAL (SELECT %(monday)s::date + 7 * w.week + 2 * d.day) AS g (day)
WHERE a.business_id = %(business)s
"""
_SESSIONS = """
INSERT INTO logs_sessionlog (id, business_id, client_id, source, external_id, revision, row_version, content_hash,
  local_date, received_at, planned_session_id, planned_session_named, duration_min, session_rpe, cut_reason, symptoms,
  notes)
SELECT gen_random_uuid(), %(business)s, p.client_id, 'bench-app', p.id::text, 0, 1, '', p.local_date, now(), p.id, true,
  50 + p.day_number, 6 + p.week_number %% 3, '', '{}', ''
FROM programs_plannedsession p WHERE p.business_id = %(business)s
"""
_SETS = """
INSERT INTO logs_setlog (id, business_id, client_id, source, external_id, revision, row_version, content_hash,
  local_date, received_at, session_log_id, exercise_id, slot_key, set_number, kind, side, reps, duration_s, load, unit,
  load_kg, load_basis, machine, in_reserve, tempo, tempo_class, phase_s, phase_source, outcome, symptoms, notes)
SELECT gen_random_uuid(), %(business)s, l.client_id, 'bench-app', l.external_id || '-' || n.number, 0, 1, '',
  l.local_date, now(), l.id, e.id, s.slot, n.number / 6 + 1, 'work', 'both', 5 + n.number %% 4, 44,
  60 + 2.5 * (n.number %% 17), 'kg', 60 + 2.5 * (n.number %% 17), e.load_basis, '', n.number %% 4, '', '',
  CASE WHEN n.number %% 2 = 0 THEN
    '{"eccentric": 4.1, "lengthened": 0.6, "concentric": 0.8, "shortened": 1.0}'::jsonb END,
  CASE WHEN n.number %% 2 = 0 THEN 'device' ELSE '' END, 'done', '{}', ''
FROM logs_sessionlog l CROSS JOIN generate_series(0, %(sets)s - 1) AS n (number)
CROSS JOIN LATERAL (SELECT (%(slots)s::text[])[n.number %% 6 + 1], (%(exercises)s::text[])[n.number %% 6 + 1])
  AS s (slot, exercise)
JOIN programs_exercise e ON e.business_id = %(business)s AND e.key = s.exercise
WHERE l.business_id = %(business)s ORDER BY l.local_date, l.id, n.number
"""
_CHECK_INS = """
INSERT INTO logs_checkin (id, business_id, client_id, source, external_id, revision, row_version, content_hash,
  local_date, received_at, sleep, fatigue, stress, soreness, symptoms, pains, unit, bodyweight_kg, resting_hr_bpm,
  hrv_rmssd_ms, answers, notes)
SELECT gen_random_uuid(), %(business)s, c.id, 'bench-app', d.day::text, 0, 1, '', %(monday)s::date + d.day, now(),
  3, 3, 2, 4, '{}', '[]', 'kg', 80 + d.day %% 3, 52 + d.day %% 5, 60 + d.day %% 11, '{}', ''
FROM coaching_client c CROSS JOIN generate_series(0, 7 * %(weeks)s - 1) AS d (day) WHERE c.business_id = %(business)s
"""


def add_weeks(business_id: UUID, client_ids: Sequence[UUID], *, weeks: int) -> None:
    """Give each client three sessions of eighteen sets a week, all done as planned, half of them measured."""
    with business_scope(business_id):
        variant = Variant.objects.create(program=Program.objects.create(name="Base"), name="Gym")
        version = Version.objects.create(variant=variant, number=1, state="published", content={}, content_hash="0")
        Assignment.objects.bulk_create(
            Assignment(client_id=client_id, variant=variant, calendar="fixed_days", start_date=MONDAY)
            for client_id in client_ids
        )
        with connection.cursor() as cursor:
            for statement in (_PLANNED, _SESSIONS, _SETS, _CHECK_INS):
                cursor.execute(
                    statement,
                    {
                        "business": business_id,
                        "version": version.id,
                        "weeks": weeks,
                        "sessions": SESSIONS_A_WEEK,
                        "sets": SETS_A_SESSION,
                        "monday": MONDAY,
                        "slots": list(_SLOTS),
                        "exercises": list(_EXERCISES),
                        "classes": CLASSES,
                        "set_slots": sorted(_SLOTS * (SETS_A_SESSION // len(_SLOTS))),
                        "figures": [[4, 1, 1, 0, 5, 1] for _ in range(SETS_A_SESSION)],
                    },
                )


CLASSES = "{" + ", ".join(f'"{slot}": ["standard", "slow", "paused"]' for slot in _SLOTS) + "}"
