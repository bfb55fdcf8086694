"""Work capacity, as it is read."""

from dataclasses import asdict
from typing import Any, Final

from rest_framework import serializers

from logs.analysis.constants import COMPARED_OCCURRENCES, EQUAL_WORK_RATIO
from logs.analysis.work_capacity import Occurrence, WorkUnit
from logs.selectors.work_capacity import TemplateCapacity, WorkCapacity

METHOD: Final = (
    f"Minutes are compared only with earlier sessions of the template whose work is within "
    f"{EQUAL_WORK_RATIO * 100:.0f} % in every unit that both know; the earlier figure is the median of at most "
    f"{COMPARED_OCCURRENCES} (practice). Where as many loads are unknown in both, the tonnage of the others must be "
    "equal. Deload sessions are marked and left out."
)
CAUTIONS: Final = (
    "It describes these sessions; a few of them prove no trend, and rests taken differ from day to day.",
)


class OccurrenceSerializer(serializers.Serializer[Any]):
    """A template's session as it was done once."""

    planned_session = serializers.UUIDField()
    local_date = serializers.DateField()
    deload = serializers.BooleanField()
    minutes = serializers.FloatField(allow_null=True, help_text="Null when not known.")
    tonnage_kg = serializers.FloatField(allow_null=True, help_text="Null when a set's load is not known.")
    known_tonnage_kg = serializers.FloatField(help_text="Of the sets whose load is known.")
    unknown_load_sets = serializers.IntegerField()
    repetitions = serializers.IntegerField()
    distance_m = serializers.FloatField()
    calories_kcal = serializers.FloatField()
    density_per_min = serializers.FloatField(allow_null=True, help_text="Work a minute, in the template's unit.")


class WorkDifferenceSerializer(serializers.Serializer[Any]):
    """Where the work of two sessions differs most."""

    unit = serializers.CharField()
    change_ratio = serializers.FloatField(allow_null=True)


class CapacityComparisonSerializer(serializers.Serializer[Any]):
    """The latest session against earlier ones at equal work."""

    verdict = serializers.CharField(help_text="at_equal_work, or why times are not compared.")
    sentence = serializers.CharField()
    sessions = serializers.IntegerField(help_text="Sessions compared, the latest among them.")
    minutes = serializers.FloatField(allow_null=True)
    earlier_minutes = serializers.FloatField(allow_null=True)
    change_ratio = serializers.FloatField(allow_null=True)
    difference = WorkDifferenceSerializer(allow_null=True)


class TemplateCapacitySerializer(serializers.Serializer[Any]):
    """A template's sessions and what they say together."""

    template_key = serializers.CharField()
    title = serializers.CharField()
    unit = serializers.CharField(
        allow_null=True, help_text="tonnage_kg, repetitions, metres or kilocalories; null when no work is known."
    )
    recent_density_per_min = serializers.FloatField(allow_null=True, help_text="Median of the last three.")
    recent_sessions = serializers.IntegerField()
    comparison = CapacityComparisonSerializer()
    occurrences = OccurrenceSerializer(many=True, help_text="Oldest first.")


class WorkCapacitySerializer(serializers.Serializer[Any]):
    """A client's repeated sessions."""

    client = serializers.UUIDField()
    since = serializers.DateField(help_text="First day of the first week.")
    templates = TemplateCapacitySerializer(many=True)
    method = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


def show_work_capacity(found: WorkCapacity) -> dict[str, Any]:
    """Return a client's work capacity as it is read."""
    return {
        "client": found.client_id,
        "since": found.since,
        "templates": [_template(template) for template in found.templates],
        "method": METHOD,
        "cautions": list(CAUTIONS),
    }


def _template(template: TemplateCapacity) -> dict[str, Any]:
    return {
        "template_key": template.template_key,
        "title": template.title,
        "unit": template.unit,
        "recent_density_per_min": template.recent_density,
        "recent_sessions": template.recent_sessions,
        "comparison": asdict(template.comparison),
        "occurrences": [_occurrence(one, template.unit) for one in template.occurrences],
    }


def _occurrence(one: Occurrence, unit: WorkUnit | None) -> dict[str, Any]:
    return {
        "planned_session": one.planned_session,
        "local_date": one.local_date,
        "deload": one.deload,
        "minutes": one.minutes,
        "tonnage_kg": one.work.tonnage_kg,
        "known_tonnage_kg": one.work.known_tonnage_kg,
        "unknown_load_sets": one.work.unknown_load_sets,
        "repetitions": one.work.repetitions,
        "distance_m": one.work.metres,
        "calories_kcal": one.work.kilocalories,
        "density_per_min": None if unit is None else one.density(unit),
    }
