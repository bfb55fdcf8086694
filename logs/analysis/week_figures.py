"""A week's figures."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from logs.analysis.counted_sets import MuscleSets
from logs.analysis.lift_values import LiftValue


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekFigures:
    """A week's figures, named as the columns of the weekly row; None with a reason beside it or no entries."""

    week_start: date
    deload: bool
    sessions_planned: int
    sessions_done: int
    sessions_part_done: int
    sessions_done_late: int
    sessions_missed: int
    sessions_excused: int
    work_sets: int
    hard_sets: int
    unknown_effort_sets: int
    unknown_load_sets: int
    reps: int
    tonnage_kg: Decimal
    tension_s: Decimal
    working_s: Decimal
    unknown_tension_sets: int
    measured_tension_s: Decimal
    measured_sets: int
    muscle_sets: dict[str, MuscleSets]
    session_min: Decimal
    unknown_minutes_sessions: int
    density_s_per_min: Decimal | None
    session_load: Decimal
    days_unknown: int
    monotony: Decimal | None
    strain: Decimal | None
    monotony_reason: str
    mean_effort: Decimal | None
    lift_values: dict[str, LiftValue]
    adherence_sessions: Decimal | None
    sets_planned: int
    sets_done: int
    adherence_sets: Decimal | None
    reps_planned: int
    reps_done: int
    adherence_reps: Decimal | None
    load_judged_sets: int
    adherence_load: Decimal | None
    tempo_judged_sets: int
    tempo_kept_sets: int
    adherence_tempo: Decimal | None
    check_ins: int
    mean_sleep: Decimal | None
    mean_fatigue: Decimal | None
    mean_stress: Decimal | None
    mean_soreness: Decimal | None
    mean_bodyweight_kg: Decimal | None
    mean_resting_hr_bpm: Decimal | None
    resting_hr_readings: int
    mean_ln_rmssd: Decimal | None
    hrv_readings: int
