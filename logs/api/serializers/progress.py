"""Weekly rows, as they are read."""

from typing import Any, Final

from rest_framework import serializers

from logs.selectors.client_weeks import Progress

_ESTIMATES: Final = (
    "Lift values are estimates, comparable only within one exercise, side, machine and tempo class; outside the "
    "standard tempo they are never a maximum."
)
_LOADS: Final = (
    "Session load, monotony and strain describe this person against their own history and predict no injury."
)
CAUTIONS: Final = (_ESTIMATES, _LOADS)

_KEPT: Final = frozenset({"id", "business_id", "client_id"})


class WeekMuscleSetsSerializer(serializers.Serializer[Any]):
    """Hard sets of a muscle: as primary only, with secondary as half, and with secondary as whole."""

    direct = serializers.FloatField()
    fractional = serializers.FloatField()
    total = serializers.FloatField()


class LiftValueSerializer(serializers.Serializer[Any]):
    """A lift's estimated maximum of the week, in the exercise's own load basis."""

    exercise = serializers.CharField()
    side = serializers.CharField()
    machine = serializers.CharField()
    place = serializers.CharField(help_text="The place's id, on stacks and plate-loaded machines; empty for unknown.")
    tempo_class = serializers.CharField()
    value_kg = serializers.FloatField(help_text="Median of the sessions' best estimates.")
    sessions = serializers.IntegerField()
    formula = serializers.CharField()


class WeekSerializer(serializers.Serializer[Any]):
    """A week in figures: plans and adherence of what was planned in it, the rest of what was performed in it."""

    week_start = serializers.DateField()
    deload = serializers.BooleanField()
    sessions_planned = serializers.IntegerField(help_text="Excused and paused ones left out.")
    sessions_done = serializers.IntegerField()
    sessions_part_done = serializers.IntegerField()
    sessions_done_late = serializers.IntegerField()
    sessions_missed = serializers.IntegerField()
    sessions_excused = serializers.IntegerField()
    work_sets = serializers.IntegerField()
    hard_sets = serializers.IntegerField(help_text="With four or fewer repetitions in reserve.")
    unknown_effort_sets = serializers.IntegerField()
    unknown_load_sets = serializers.IntegerField(help_text="Left out of the tonnage.")
    reps = serializers.IntegerField()
    tonnage_kg = serializers.FloatField()
    tension_s = serializers.FloatField(
        help_text="Time under tension by the tempos asked, in seconds: repetitions times the tempo's parts, X and A as "
        "1 s, both sides; holds by their time."
    )
    working_s = serializers.FloatField(
        help_text="The same without pauses at the restful end and without assisted concentrics, in seconds."
    )
    unknown_tension_sets = serializers.IntegerField(
        help_text="Sets of which neither a tempo nor a time is known; they are in no time."
    )
    measured_tension_s = serializers.FloatField(
        help_text="Time under tension as a device or video measured it, in seconds, of `measured_sets` only: what was "
        "performed is never mixed with what was asked."
    )
    measured_sets = serializers.IntegerField()
    muscle_sets = serializers.DictField(child=WeekMuscleSetsSerializer(), help_text="Hard sets by muscle.")
    session_min = serializers.FloatField(help_text="Minutes of the sessions of which they are known.")
    unknown_minutes_sessions = serializers.IntegerField(
        help_text="Sessions without minutes, or with more than 180 or twice the planned that nobody has confirmed."
    )
    density_s_per_min = serializers.FloatField(
        allow_null=True,
        help_text="Seconds of time under tension and of other timed work for each of `session_min`; a lower bound "
        "where `unknown_tension_sets` is not 0.",
    )
    session_load = serializers.FloatField(help_text="Rating times minutes, arbitrary units.")
    days_unknown = serializers.IntegerField(help_text="Days whose load is not known.")
    monotony = serializers.FloatField(allow_null=True)
    strain = serializers.FloatField(allow_null=True)
    monotony_reason = serializers.CharField(help_text="Why there is no monotony; empty when there is.")
    mean_effort = serializers.FloatField(allow_null=True)
    lift_values = serializers.DictField(child=LiftValueSerializer(), help_text="By lift line.")
    adherence_sessions = serializers.FloatField(allow_null=True, help_text="Share of the planned sessions, 0 to 1.")
    sets_planned = serializers.IntegerField(help_text="Work sets of the week's plan, excused and paused sessions not.")
    sets_done = serializers.IntegerField(
        help_text="Of them, whenever they were done; a swap counts, more than planned does not."
    )
    adherence_sets = serializers.FloatField(allow_null=True, help_text="`sets_done` over `sets_planned`.")
    reps_planned = serializers.IntegerField(
        help_text="The fewest repetitions that fulfil the plan, both sides; sets to the limit have none."
    )
    reps_done = serializers.IntegerField(help_text="Of them; more than planned in a session does not count.")
    adherence_reps = serializers.FloatField(allow_null=True, help_text="`reps_done` over `reps_planned`.")
    load_judged_sets = serializers.IntegerField(
        help_text="Of `sets_done`, those whose planned and lifted load are both known, in the planned exercise."
    )
    adherence_load = serializers.FloatField(
        allow_null=True, help_text="Load lifted over load planned, of `load_judged_sets`; over 1 is more than planned."
    )
    tempo_judged_sets = serializers.IntegerField(
        help_text="Sets of the plan whose tempo was asked and measured by a device or video."
    )
    tempo_kept_sets = serializers.IntegerField(
        help_text="Of them without a rushed eccentric or pause and without a lingered restful pause, within the larger "
        "of 0.5 s and 25 %; a slow concentric is no fault."
    )
    adherence_tempo = serializers.FloatField(allow_null=True, help_text="`tempo_kept_sets` over `tempo_judged_sets`.")
    check_ins = serializers.IntegerField()
    mean_sleep = serializers.FloatField(allow_null=True, help_text="1 to 7, higher is worse; so are the next three.")
    mean_fatigue = serializers.FloatField(allow_null=True)
    mean_stress = serializers.FloatField(allow_null=True)
    mean_soreness = serializers.FloatField(allow_null=True)
    mean_bodyweight_kg = serializers.FloatField(allow_null=True)
    mean_resting_hr_bpm = serializers.FloatField(allow_null=True, help_text="Of `resting_hr_readings`.")
    resting_hr_readings = serializers.IntegerField()
    mean_ln_rmssd = serializers.FloatField(
        allow_null=True, help_text="Mean of the natural logarithms of RMSSD in ms, of `hrv_readings`."
    )
    hrv_readings = serializers.IntegerField()
    being_refreshed = serializers.BooleanField(help_text="A log has just come; the figures follow within seconds.")


class ProgressSerializer(serializers.Serializer[Any]):
    """A client's weekly rows."""

    client = serializers.UUIDField()
    this_week = serializers.DateField(help_text="First day of the week in which the client is now.")
    weeks = WeekSerializer(many=True, help_text="Oldest first; a week of which nothing is known is left out.")
    cautions = serializers.ListField(child=serializers.CharField())


def show_progress(progress: Progress) -> dict[str, Any]:
    """Return weekly rows as they are read."""
    return {
        "client": progress.client_id,
        "this_week": progress.this_week,
        "weeks": [{name: value for name, value in row.items() if name not in _KEPT} for row in progress.rows],
        "cautions": list(CAUTIONS),
    }
