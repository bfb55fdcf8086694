"""Analyses of prescriptions, as they are asked for and returned."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, get_args

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from coaching.http.unknown_fields import StrictSerializer
from coaching.refusals import Fault, Invalid
from programs.api.serializers.documents import SessionField
from programs.api.serializers.figures import figures_of
from programs.api.serializers.parsing import TEXT_MAX_CHARACTERS, ParsedSessionSerializer, show_parsed_session
from programs.api.serializers.version_changes import VersionChangeShownSerializer, show_changes
from programs.prescription.analysis import SessionAnalysis, TensionTotal
from programs.prescription.brakes import BrakeKind
from programs.prescription.conditioning import Conditioning
from programs.prescription.constants import HEART_RATE_MAX_BPM, RESTING_MIN_BPM
from programs.prescription.findings import Finding
from programs.prescription.heart_rate import HeartRateBand, HeartRateTargets, NoHeartRateTargets
from programs.prescription.rests import EffectiveRest
from programs.prescription.session_pace import PacedTime
from programs.prescription.slot_work import SetGroupWork
from programs.prescription.structure import ExerciseFacts
from programs.prescription.timeline import BlockTime, Event, Timeline
from programs.prescription.timeline_clock import EventKind
from programs.prescription.timeline_policy import PLACES
from programs.prescription.version_analysis import VersionAnalysis
from programs.prescription.volume import Volume
from programs.prescription.week_ranges import WeekMeasure, WeekReading, WeekVerdict
from programs.selectors.analyses import AnalysedSession, Circumstances

EVENT_KINDS = get_args(EventKind)
BRAKE_KINDS = get_args(BrakeKind)
WEEK_MEASURES = get_args(WeekMeasure)
WEEK_VERDICTS = get_args(WeekVerdict)
HEART_RATE_FROM = ("measured", "predicted")
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


class UnreadableText(Invalid):
    """A written session with faults; what could be read stands beside them."""

    code = "unreadable_text"


class AnalyseSerializer(StrictSerializer):
    """A session to analyse, as a document or as written: exactly one of the two. Nothing is stored."""

    session = SessionField(required=False)
    text = serializers.CharField(
        required=False,
        max_length=TEXT_MAX_CHARACTERS,
        trim_whitespace=False,
        help_text="As coaches write it: one exercise or block on a line.",
    )
    client = serializers.UUIDField(
        required=False,
        help_text="Whose minutes and months of training it is held against, and whose heart rates are given.",
    )
    place = serializers.ChoiceField(
        choices=PLACES, required=False, default="gym", help_text="Says how long changing station takes."
    )
    resting_bpm = serializers.IntegerField(
        required=False,
        min_value=RESTING_MIN_BPM,
        max_value=HEART_RATE_MAX_BPM,
        help_text="The client's resting heart rate, without which there are no heart-rate targets.",
    )
    minutes = serializers.IntegerField(
        required=False, min_value=5, max_value=300, help_text="The minutes there are; before the client's own."
    )

    def to_internal_value(self, data: Any) -> Any:
        """Read the fields; neither or both of session and text is a fault beside all the others."""
        one_of = _one_of(data)
        try:
            read = super().to_internal_value(data)
        except serializers.ValidationError as error:
            if one_of and isinstance(error.detail, dict):
                raise serializers.ValidationError({**one_of, **error.detail}) from None
            raise
        if one_of:
            raise serializers.ValidationError(one_of)
        return read


class HeartRateSerializer(serializers.Serializer[Any]):
    """The client's heart-rate targets for conditioning; without bands, why there are none and what to go by."""

    bands = figures_of(HeartRateBand)(many=True)
    max_bpm = serializers.IntegerField(allow_null=True)
    max_from = serializers.ChoiceField(choices=HEART_RATE_FROM, allow_null=True)
    error_bpm = serializers.IntegerField(allow_null=True, help_text="How far a predicted maximum may be off.")
    resting_bpm = serializers.IntegerField(allow_null=True)
    source = serializers.CharField(allow_null=True)  # type: ignore[assignment]  # the base class has one too
    caution = serializers.CharField(allow_null=True)
    reason = serializers.CharField(allow_null=True)
    instead = serializers.CharField(allow_null=True)


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


class AnalysedSessionSerializer(SessionAnalysisSerializer):
    """The analysis of a session that is not stored, for a client where one was named."""

    heart_rate = HeartRateSerializer(allow_null=True, help_text="With a client, where the session has conditioning.")
    pace = figures_of(PacedTime)(allow_null=True, help_text="With a client: their usual pace, beside the timeline.")
    written = ParsedSessionSerializer(
        allow_null=True, help_text="The text as it was read; findings name its lines. Null for a document."
    )


class AnalysedDaySerializer(serializers.Serializer[Any]):
    """One day's session."""

    day_number = serializers.IntegerField()
    session = SessionAnalysisSerializer()


class AnalysedWeekSerializer(serializers.Serializer[Any]):
    """One week: its sessions, their volume together against published ranges, and what the week changes."""

    week_number = serializers.IntegerField()
    deload = serializers.BooleanField()
    low_min = serializers.FloatField()
    high_min = serializers.FloatField()
    volume = figures_of(Volume)()
    tension = figures_of(TensionTotal)()
    readings = figures_of(WeekReading)(many=True)
    compared_with = serializers.IntegerField(
        allow_null=True, help_text="The working week that `changes` holds it against."
    )
    changes = VersionChangeShownSerializer(many=True)
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


def circumstances_of(body: Mapping[str, Any]) -> Circumstances:
    """Return for whom and where a session is to be analysed."""
    return Circumstances(
        client_id=body.get("client"),
        minutes=body.get("minutes"),
        place=body["place"],
        resting_bpm=body.get("resting_bpm"),
    )


def show_analysed_session(found: AnalysedSession) -> dict[str, Any]:
    """Return the analysis of a session that is not stored as it is read.

    Raises:
        UnreadableText: the text has faults; what could be read of it, and the analysis of that, stand beside them.
    """
    shown = _show_analysis(found)
    written = None if found.written is None else show_parsed_session(found.written)
    if found.written is not None and found.written.result.has_errors:
        faults = [
            Fault("#/text", fault.code, f"Line {fault.line}, column {fault.column}: {fault.message}")
            for fault in found.written.result.faults
            if fault.severity == "error"
        ]
        raise UnreadableText(faults[0].detail, faults=faults, extra={"written": written, "analysis": shown})
    return {**(shown or {}), "written": written}


def _show_analysis(found: AnalysedSession) -> dict[str, Any] | None:
    if found.analysis is None:
        return None
    shown = show_session_analysis(found.analysis, found.facts, with_events=True)
    pace = None if found.pace is None else asdict(found.pace)
    return {**shown, "heart_rate": _show_heart_rate(found.heart_rate), "pace": pace}


def _one_of(data: Any) -> dict[str, list[ErrorDetail]]:
    """Say what is wrong where a body has neither or both of session and text."""
    if not isinstance(data, dict) or ("session" in data) != ("text" in data):
        return {}
    if "session" in data:
        return {"text": [ErrorDetail("Give either session or text, not both.", code="one_of")]}
    return {"session": [ErrorDetail("Give the session as session, or as it is written as text.", code="required")]}


def _show_heart_rate(found: HeartRateTargets | NoHeartRateTargets | None) -> dict[str, Any] | None:
    if found is None:
        return None
    none_of = dict.fromkeys(HeartRateSerializer().fields)
    return {**none_of, "bands": [], **asdict(found)}


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
                "readings": [asdict(reading) for reading in week.readings],
                "compared_with": week.compared_with,
                "changes": show_changes(week.changes),
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
