"""One lift of a client, as it is read: the shapes."""

from typing import Any

from rest_framework import serializers

from logs.analysis.lift_records import RECORD_KINDS
from logs.analysis.side_differences import NO_DIFFERENCES
from logs.api.serializers.lifts import (
    TEMPO_CLASSES,
    LiftLineSerializer,
    LiftSetSerializer,
    LiftSpanSerializer,
    LinePointSerializer,
)


class RecordSerializer(serializers.Serializer[Any]):
    """A record beside the least change that is told from noise."""

    kind = serializers.ChoiceField(choices=RECORD_KINDS)
    achieved = LiftSetSerializer()
    earlier = LiftSetSerializer(allow_null=True)
    gain = serializers.FloatField(allow_null=True, help_text="Kilograms, or repetitions.")
    gain_pct = serializers.FloatField(allow_null=True)
    mdc95_pct = serializers.FloatField()
    mdc95_kg = serializers.FloatField(allow_null=True)
    exceeds_noise = serializers.BooleanField(allow_null=True)
    sentence = serializers.CharField()


class AveragedChangeSerializer(serializers.Serializer[Any]):
    """The mean of the latest sessions against as many before."""

    sessions = serializers.IntegerField(help_text="On either side.")
    latest_kg = serializers.FloatField(allow_null=True)
    before_kg = serializers.FloatField(allow_null=True)
    change_pct = serializers.FloatField(allow_null=True)
    mdc95_pct = serializers.FloatField(allow_null=True)
    exceeds_noise = serializers.BooleanField(allow_null=True)
    sentence = serializers.CharField()


class LiftLineDetailSerializer(LiftLineSerializer):
    """A line of one lift, with all that is known of it."""

    points = LinePointSerializer(many=True)
    estimates = LiftSetSerializer(many=True, help_text="The best set of each session.")
    records = RecordSerializer(many=True, help_text="Of the client's whole history on the line.")
    averaged = AveragedChangeSerializer()


class SideDifferenceSerializer(serializers.Serializer[Any]):
    """The left against the right where all else is alike."""

    tempo_class = serializers.ChoiceField(choices=TEMPO_CLASSES)
    place = serializers.CharField()
    machine = serializers.CharField()
    n = serializers.IntegerField(help_text="Weeks with a value of both.")
    left_kg = serializers.FloatField(allow_null=True)
    right_kg = serializers.FloatField(allow_null=True)
    difference_kg = serializers.FloatField(allow_null=True)
    difference_pct = serializers.FloatField(allow_null=True)
    noise_pct = serializers.FloatField(allow_null=True)
    exceeds_noise = serializers.BooleanField(allow_null=True)
    reason = serializers.ChoiceField(choices=NO_DIFFERENCES)
    sentence = serializers.CharField()
    caution = serializers.CharField()


class DetectableChangeSerializer(serializers.Serializer[Any]):
    """The least change that is told from noise, by sessions averaged on either side."""

    sessions = serializers.IntegerField()
    mdc95_pct = serializers.FloatField()


class LiftSerializer(LiftSpanSerializer):
    """One lift of a client."""

    exercise = serializers.CharField()
    name = serializers.CharField()
    load_basis = serializers.CharField()
    lines = LiftLineDetailSerializer(many=True)
    sides = SideDifferenceSerializer(many=True)
    detectable_changes = DetectableChangeSerializer(many=True)
