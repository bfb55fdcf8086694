"""Logs as they are shown, for the documentation: they are written as they are."""

from typing import Any

from rest_framework import serializers

from coaching.http.units import LoadEnteredSerializer, LoadShownSerializer
from logs.api.serializers.log_batches import OUTCOMES, CautionSerializer

_Shown = serializers.Serializer[Any]


class RevisionSerializer(_Shown):
    """A state that a correction replaced."""

    row_version = serializers.IntegerField()
    revision = serializers.IntegerField()
    replaced_at = serializers.DateTimeField()
    replaced_by = serializers.UUIDField(
        allow_null=True,
        help_text="The membership or API key that corrected it; to clients null where it was not they.",
    )
    content = serializers.DictField(help_text="The log's own fields as they were.")


class LogRevisionsSerializer(_Shown):
    """What corrections of a log replaced, latest first. Of one that was deleted only that it was."""

    row_version = serializers.IntegerField(help_text="The version that it is at now.")
    received_at = serializers.DateTimeField(help_text="When it came first.")
    deleted_at = serializers.DateTimeField(allow_null=True, help_text="Its content and past went then.")
    items = RevisionSerializer(many=True)


class LogSerializer(_Shown):
    """What every log shows. With `?history=true` also what corrections replaced, latest first."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    source = serializers.CharField(  # type: ignore[assignment]  # a field of that name, which the metaclass takes
        help_text="What it is filed under; a client changes what is filed under `counterpoise`, a key its own."
    )
    external_id = serializers.CharField()
    revision = serializers.IntegerField()
    received_at = serializers.DateTimeField()
    local_date = serializers.DateField(help_text="In the client's time zone.")
    symptoms = serializers.ListField(child=serializers.CharField())
    notes = serializers.CharField()
    history = RevisionSerializer(many=True, required=False)


class SessionLogSerializer(LogSerializer):
    """A session performed."""

    planned_session = serializers.UUIDField(allow_null=True, help_text="Null for an extra session.")
    planned_session_named = serializers.BooleanField(help_text="Named by the sender, or matched by the date.")
    started_at = serializers.DateTimeField(allow_null=True)
    finished_at = serializers.DateTimeField(allow_null=True)
    duration_min = serializers.FloatField(allow_null=True)
    session_rpe = serializers.FloatField(allow_null=True)
    cut_reason = serializers.CharField()
    place = serializers.UUIDField(allow_null=True, help_text="The client's place where it was done.")
    minutes_confirmed = serializers.BooleanField(help_text="That minutes which look too long are right.")


class SegmentShownSerializer(LoadShownSerializer):
    """A part of a set."""

    reps = serializers.IntegerField()
    rest_before_s = serializers.FloatField(allow_null=True)


class SetLogSerializer(LogSerializer, LoadShownSerializer):
    """A set performed; its load in the basis that `load_basis` names."""

    session_log = serializers.UUIDField()
    exercise = serializers.UUIDField()
    exercise_key = serializers.CharField(allow_null=True)
    slot = serializers.CharField()
    set_number = serializers.IntegerField()
    kind = serializers.CharField()
    side = serializers.CharField()
    reps = serializers.IntegerField(allow_null=True)
    duration_s = serializers.FloatField(allow_null=True)
    distance_m = serializers.FloatField(allow_null=True)
    calories_kcal = serializers.FloatField(allow_null=True)
    rounds = serializers.FloatField(allow_null=True)
    segments = SegmentShownSerializer(many=True, allow_null=True)
    load_basis = serializers.CharField()
    machine = serializers.CharField()
    rpe = serializers.FloatField(allow_null=True)
    in_reserve = serializers.FloatField(allow_null=True)
    tempo = serializers.CharField()
    tempo_class = serializers.CharField(help_text="Of the tempo that the log says; empty for none.")
    phase_s = serializers.DictField(child=serializers.FloatField(), allow_null=True)
    phase_source = serializers.CharField(allow_null=True)
    outcome = serializers.CharField()
    swapped = serializers.DictField(child=serializers.CharField(), allow_null=True)


class PainShownSerializer(_Shown):
    """A pain reported."""

    site = serializers.CharField()
    side = serializers.CharField()
    score = serializers.IntegerField()
    exercise = serializers.CharField(allow_null=True)
    when = serializers.CharField()
    onset = serializers.CharField()
    sharp = serializers.BooleanField()


class CheckInSerializer(LogSerializer):
    """How a person says they are. The four scales run 1 to 7, and higher is worse."""

    sleep = serializers.IntegerField(allow_null=True)
    fatigue = serializers.IntegerField(allow_null=True)
    stress = serializers.IntegerField(allow_null=True)
    soreness = serializers.IntegerField(allow_null=True)
    pains = PainShownSerializer(many=True)
    bodyweight_kg = serializers.FloatField(allow_null=True)
    bodyweight_lb = serializers.FloatField(allow_null=True)
    bodyweight_entered = LoadEnteredSerializer(allow_null=True)
    resting_hr_bpm = serializers.IntegerField(allow_null=True)
    hrv_rmssd_ms = serializers.FloatField(allow_null=True)
    form = serializers.UUIDField(allow_null=True, help_text="The business's form that `answers` are to.")
    form_version = serializers.IntegerField(allow_null=True)
    answers = serializers.DictField(help_text="By question, in the version's own words.")
    bodyweight_hidden = serializers.CharField(
        help_text="Why the bodyweight is not shown of this person; empty where it may be."
    )
    heart_rate_hidden = serializers.CharField(
        help_text="Why resting heart rate and its variability are not; empty where they may be."
    )


class _Recorded(_Shown):
    id = serializers.UUIDField(allow_null=True, help_text="Null for a held set.")
    external_id = serializers.CharField()
    outcome = serializers.ChoiceField(choices=OUTCOMES)
    superseded = serializers.BooleanField(required=False, help_text="What is stored is newer; nothing changed.")
    waits_for = serializers.CharField(required=False, help_text="The session's external id, of a held set.")
    notes = serializers.ListField(child=serializers.CharField(), required=False)
    cautions = CautionSerializer(many=True)


class RecordedSessionLogSerializer(_Recorded):
    """What became of a session log, and the log."""

    log = SessionLogSerializer()


class RecordedSetLogSerializer(_Recorded):
    """What became of a set log, and the log; null while it is held."""

    log = SetLogSerializer(allow_null=True)


class RecordedCheckInSerializer(_Recorded):
    """What became of a check-in, and the check-in."""

    log = CheckInSerializer()
