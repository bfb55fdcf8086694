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
    muscle_sets = serializers.DictField(child=WeekMuscleSetsSerializer(), help_text="Hard sets by muscle.")
    session_load = serializers.FloatField(help_text="Rating times minutes, arbitrary units.")
    days_unknown = serializers.IntegerField(help_text="Days whose load is not known.")
    monotony = serializers.FloatField(allow_null=True)
    strain = serializers.FloatField(allow_null=True)
    monotony_reason = serializers.CharField(help_text="Why there is no monotony; empty when there is.")
    mean_effort = serializers.FloatField(allow_null=True)
    lift_values = serializers.DictField(child=LiftValueSerializer(), help_text="By lift line.")
    adherence_sessions = serializers.FloatField(allow_null=True, help_text="Share of the planned sessions, 0 to 1.")
    mean_sleep = serializers.FloatField(allow_null=True, help_text="1 to 7, higher is worse; so are the next three.")
    mean_fatigue = serializers.FloatField(allow_null=True)
    mean_stress = serializers.FloatField(allow_null=True)
    mean_soreness = serializers.FloatField(allow_null=True)
    mean_bodyweight_kg = serializers.FloatField(allow_null=True)
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
