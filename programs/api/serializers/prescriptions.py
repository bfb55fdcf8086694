"""Analyses of prescriptions, as they are asked for and returned."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, get_args

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import SessionField
from programs.api.serializers.figures import figures_of
from programs.prescription.analysis import SessionAnalysis, TensionTotal, VersionAnalysis
from programs.prescription.brakes import BrakeKind
from programs.prescription.conditioning import Conditioning
from programs.prescription.findings import Finding
from programs.prescription.rests import EffectiveRest
from programs.prescription.slot_work import SetGroupWork
from programs.prescription.structure import ExerciseFacts
from programs.prescription.timeline import BlockTime, Event, Timeline
from programs.prescription.timeline_clock import EventKind
from programs.prescription.volume import Volume

EVENT_KINDS = get_args(EventKind)
BRAKE_KINDS = get_args(BrakeKind)
_DERIVED = (
    "low_s",
    "high_s",
    "low_min",
    "high_min",
    "work_low_s",
    "work_high_s",
    "straight_equivalent_low_s",
    "straight_equivalent_high_s",
    "minutes_saved",
    "density_ratio",
    "assumed_rests",
    "assumed_work",
)


class AnalyseSerializer(StrictSerializer):
    """A session to analyse; nothing is stored."""

    session = SessionField()
    client = serializers.UUIDField(required=False, help_text="Whose minutes it is held against.")
    minutes = serializers.IntegerField(
        required=False, min_value=5, max_value=300, help_text="The minutes there are; before the client's own."
    )


class TimelineSerializer(serializers.Serializer[Any]):
    """What the session takes: `low` at the fewer repetitions of each range, `high` at the more."""

    low_s = serializers.IntegerField()
    high_s = serializers.IntegerField()
    low_min = serializers.FloatField()
    high_min = serializers.FloatField()
    work_low_s = serializers.IntegerField()
    work_high_s = serializers.IntegerField()
    straight_equivalent_low_s = serializers.IntegerField(help_text="The same work as straight sets, equally rested.")
    straight_equivalent_high_s = serializers.IntegerField()
    minutes_saved = serializers.FloatField(help_text="Against straight sets with the same effective rests.")
    density_ratio = serializers.FloatField(allow_null=True, help_text="Share of the session spent working.")
    assumed_rests = serializers.ListField(child=serializers.CharField(), help_text="Slots whose rest is not said.")
    assumed_work = serializers.ListField(child=serializers.CharField(), help_text="Slots whose work is estimated.")
    blocks = figures_of(BlockTime)(many=True)
    events = figures_of(Event, "TimelineEvent")(many=True)


class AnalysedSlotSerializer(serializers.Serializer[Any]):
    """What a slot's sets ask for, and the rest that it really has."""

    slot_key = serializers.CharField()
    exercise = serializers.CharField()
    exercise_name = serializers.CharField()
    rest = figures_of(EffectiveRest)()
    groups = figures_of(SetGroupWork)(many=True)


class SessionAnalysisSerializer(serializers.Serializer[Any]):
    """The analysis of one session. Stimulus readings are a coaching heuristic."""

    title = serializers.CharField()
    template_key = serializers.CharField()
    has_errors = serializers.BooleanField(help_text="Whether something in it can't be performed.")
    timeline = TimelineSerializer()
    slots = AnalysedSlotSerializer(many=True)
    muscle_rests = serializers.DictField(child=figures_of(EffectiveRest)(), help_text="By primary muscle.")
    volume = figures_of(Volume)()
    tension = figures_of(TensionTotal)()
    conditioning = figures_of(Conditioning)(many=True)
    findings = figures_of(Finding)(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class AnalysedDaySerializer(serializers.Serializer[Any]):
    """One day's session."""

    day_number = serializers.IntegerField()
    session = SessionAnalysisSerializer()


class AnalysedWeekSerializer(serializers.Serializer[Any]):
    """One week: its sessions and their volume together."""

    week_number = serializers.IntegerField()
    deload = serializers.BooleanField()
    low_min = serializers.FloatField()
    high_min = serializers.FloatField()
    volume = figures_of(Volume)()
    tension = figures_of(TensionTotal)()
    days = AnalysedDaySerializer(many=True)


class VersionAnalysisSerializer(serializers.Serializer[Any]):
    """The analysis of a whole version. Its sessions' `events` are left out."""

    has_errors = serializers.BooleanField(help_text="Errors keep a draft from being published.")
    weeks = AnalysedWeekSerializer(many=True)
    findings = figures_of(Finding)(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


def show_session_analysis(
    analysis: SessionAnalysis, facts: Mapping[str, ExerciseFacts], *, with_events: bool
) -> dict[str, Any]:
    """Return a session's analysis as it is read."""
    return {
        "title": analysis.title,
        "template_key": analysis.template_key,
        "has_errors": analysis.has_errors,
        "timeline": show_timeline(analysis.timeline, with_events=with_events),
        "slots": [
            asdict(slot) | {"exercise_name": facts[slot.exercise].name if slot.exercise in facts else slot.exercise}
            for slot in analysis.slots
        ],
        "muscle_rests": {muscle: asdict(rest) for muscle, rest in analysis.timeline.muscle_rests.items()},
        "volume": asdict(analysis.volume),
        "tension": asdict(analysis.tension),
        "conditioning": [asdict(piece) for piece in analysis.conditioning],
        "findings": [asdict(finding) for finding in analysis.findings],
        "cautions": list(analysis.cautions),
    }


def show_version_analysis(analysis: VersionAnalysis, facts: Mapping[str, ExerciseFacts]) -> dict[str, Any]:
    """Return a version's analysis as it is read."""
    return {
        "has_errors": analysis.has_errors,
        "weeks": [
            {
                "week_number": week.week_number,
                "deload": week.deload,
                "low_min": week.low_min,
                "high_min": week.high_min,
                "volume": asdict(week.volume),
                "tension": asdict(week.tension),
                "days": [
                    {
                        "day_number": day.day_number,
                        "session": show_session_analysis(day.session, facts, with_events=False),
                    }
                    for day in week.days
                ],
            }
            for week in analysis.weeks
        ],
        "findings": [asdict(finding) for finding in analysis.findings],
        "cautions": list(analysis.cautions),
    }


def show_timeline(timeline: Timeline, *, with_events: bool) -> dict[str, Any]:
    """Return a timeline as it is read."""
    shown = {name: getattr(timeline, name) for name in _DERIVED}
    events = [asdict(event) for event in timeline.events] if with_events else []
    return shown | {"blocks": [asdict(block) for block in timeline.blocks], "events": events}
