"""A client's week in figures, each from that week's own facts."""

from django.db import models

from coaching.models import Client
from coaching.tenancy.models import BusinessScopedModel


class ClientWeek(BusinessScopedModel):
    """One row per client and local week; the pure reference is `logs/analysis/weekly.py`.

    Planned counts and adherence belong to the week planned; sets, tonnage and load to the week
    performed. Quotients are rounded half-even to six places.
    """

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    week_start = models.DateField()
    deload = models.BooleanField(default=False)
    sessions_planned = models.PositiveSmallIntegerField(default=0)
    sessions_done = models.PositiveSmallIntegerField(default=0)
    sessions_part_done = models.PositiveSmallIntegerField(default=0)
    sessions_done_late = models.PositiveSmallIntegerField(default=0)
    sessions_missed = models.PositiveSmallIntegerField(default=0)
    sessions_excused = models.PositiveSmallIntegerField(default=0)
    work_sets = models.PositiveIntegerField(default=0)
    hard_sets = models.PositiveIntegerField(default=0)
    unknown_effort_sets = models.PositiveIntegerField(default=0)
    unknown_load_sets = models.PositiveIntegerField(default=0)
    reps = models.PositiveIntegerField(default=0)
    tonnage_kg = models.DecimalField(max_digits=20, decimal_places=8, default=0)
    tension_s = models.DecimalField(max_digits=14, decimal_places=2, default=0, db_default=0)
    working_s = models.DecimalField(max_digits=14, decimal_places=2, default=0, db_default=0)
    unknown_tension_sets = models.PositiveIntegerField(default=0, db_default=0)
    measured_tension_s = models.DecimalField(max_digits=18, decimal_places=6, default=0, db_default=0)
    measured_sets = models.PositiveIntegerField(default=0, db_default=0)
    muscle_sets = models.JSONField(default=dict)
    session_min = models.DecimalField(max_digits=10, decimal_places=2, default=0, db_default=0)
    unknown_minutes_sessions = models.PositiveIntegerField(default=0, db_default=0)
    density_s_per_min = models.DecimalField(max_digits=16, decimal_places=6, null=True)
    session_load = models.DecimalField(max_digits=14, decimal_places=3, default=0)
    days_unknown = models.PositiveSmallIntegerField(default=0)
    monotony = models.DecimalField(max_digits=16, decimal_places=6, null=True)
    strain = models.DecimalField(max_digits=20, decimal_places=6, null=True)
    monotony_reason = models.CharField(max_length=20, blank=True, default="")
    mean_effort = models.DecimalField(max_digits=10, decimal_places=6, null=True)
    lift_values = models.JSONField(default=dict)
    adherence_sessions = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    sets_planned = models.PositiveIntegerField(default=0, db_default=0)
    sets_done = models.PositiveIntegerField(default=0, db_default=0)
    adherence_sets = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    reps_planned = models.PositiveIntegerField(default=0, db_default=0)
    reps_done = models.PositiveIntegerField(default=0, db_default=0)
    adherence_reps = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    load_judged_sets = models.PositiveIntegerField(default=0, db_default=0)
    adherence_load = models.DecimalField(max_digits=24, decimal_places=6, null=True)
    tempo_judged_sets = models.PositiveIntegerField(default=0, db_default=0)
    tempo_kept_sets = models.PositiveIntegerField(default=0, db_default=0)
    adherence_tempo = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    check_ins = models.PositiveIntegerField(default=0, db_default=0)
    mean_sleep = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    mean_fatigue = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    mean_stress = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    mean_soreness = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    mean_bodyweight_kg = models.DecimalField(max_digits=14, decimal_places=6, null=True)

    mean_resting_hr_bpm = models.DecimalField(max_digits=10, decimal_places=6, null=True)
    resting_hr_readings = models.PositiveIntegerField(default=0, db_default=0)
    mean_ln_rmssd = models.DecimalField(max_digits=8, decimal_places=6, null=True)
    hrv_readings = models.PositiveIntegerField(default=0, db_default=0)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "client", "week_start"], name="client_week"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} week of {self.week_start}"
