"""Lift lines, as they are read: the shapes."""

from typing import Any, Final, get_args

from rest_framework import serializers

from logs.analysis.lift_lines import NO_ESTIMATES
from logs.analysis.lift_records import RECORD_KINDS
from logs.analysis.lift_weeks import LEFT_OUT
from logs.analysis.matched import BASES, DIRECTIONS, NO_MATCHES
from logs.analysis.side_differences import NO_DIFFERENCES
from logs.analysis.strength import FORMULAS, Confidence, TempoClass
from logs.analysis.trend_verdicts import VERDICTS, WEEKS_MORE_REASONS

LIFT_FORMULAS: Final = tuple(FORMULAS)
TEMPO_CLASSES: Final = get_args(TempoClass)
CONFIDENCES: Final = get_args(Confidence)
LEFT_OUT_REASONS: Final = tuple(one for one in LEFT_OUT if one)


class _Shown(serializers.Serializer[Any]):
    pass


class LiftSetSerializer(_Shown):
    """A set with its estimate."""

    session_log = serializers.UUIDField()
    local_date = serializers.DateField()
    kind = serializers.CharField()
    load_kg = serializers.FloatField(allow_null=True)
    load_basis = serializers.CharField()
    body_kg = serializers.FloatField(allow_null=True, help_text="Bodyweight moved beside an added load.")
    repetitions = serializers.IntegerField(allow_null=True)
    in_reserve = serializers.FloatField(allow_null=True)
    tempo = serializers.CharField(help_text="The tempo it was held to; empty when unknown.")
    formula = serializers.ChoiceField(choices=LIFT_FORMULAS)
    estimate_kg = serializers.FloatField(allow_null=True, help_text="In the load's own basis.")
    confidence = serializers.ChoiceField(choices=CONFIDENCES)
    reason = serializers.ChoiceField(choices=NO_ESTIMATES)
    enters_line = serializers.BooleanField()


class MatchedComparisonSerializer(_Shown):
    """The latest session against earlier ones that are alike."""

    basis = serializers.ChoiceField(choices=BASES)
    reason = serializers.ChoiceField(choices=NO_MATCHES)
    direction = serializers.ChoiceField(choices=DIRECTIONS)
    n = serializers.IntegerField(help_text="Earlier times.")
    latest = LiftSetSerializer(allow_null=True)
    earlier = LiftSetSerializer(many=True)
    median_repetitions = serializers.FloatField(allow_null=True)
    median_in_reserve = serializers.FloatField(allow_null=True)
    median_load_kg = serializers.FloatField(allow_null=True)
    sentence = serializers.CharField()


class LiftTrendSerializer(_Shown):
    """A line's trend."""

    verdict = serializers.ChoiceField(choices=VERDICTS)
    n = serializers.IntegerField(help_text="Weekly values that went in.")
    kg_per_week = serializers.FloatField(allow_null=True)
    low_kg_per_week = serializers.FloatField(allow_null=True, help_text="Of the 90 % interval.")
    high_kg_per_week = serializers.FloatField(allow_null=True)
    level_kg = serializers.FloatField(allow_null=True, help_text="What percents are of.")
    pct_per_week = serializers.FloatField(allow_null=True)
    low_pct_per_week = serializers.FloatField(allow_null=True)
    high_pct_per_week = serializers.FloatField(allow_null=True)
    negligible_pct_per_week = serializers.FloatField()
    weeks_more = serializers.IntegerField(allow_null=True, help_text="About how many more a verdict would take.")
    weeks_more_reason = serializers.ChoiceField(choices=WEEKS_MORE_REASONS)
    sentence = serializers.CharField()


class LinePointSerializer(_Shown):
    """A line's value of a week."""

    week_start = serializers.DateField()
    value_kg = serializers.FloatField()
    sessions = serializers.IntegerField()
    left_out = serializers.ChoiceField(
        choices=LEFT_OUT_REASONS, allow_blank=True, help_text="Why it stays out of the trend; empty if it is in."
    )
    being_refreshed = serializers.BooleanField()


class LeftOutWeekSerializer(_Shown):
    """A week that stays out of trends."""

    week_start = serializers.DateField()
    reason = serializers.ChoiceField(choices=LEFT_OUT_REASONS)


class _LineSerializer(_Shown):
    line = serializers.CharField(help_text="What makes the line: exercise, side, tempo class, place, machine.")
    exercise = serializers.CharField()
    name = serializers.CharField()
    side = serializers.CharField()
    tempo_class = serializers.ChoiceField(choices=TEMPO_CLASSES)
    place = serializers.CharField()
    machine = serializers.CharField()
    note = serializers.CharField(help_text="What estimates of this line are worth, outside the standard tempo.")


class LiftLineSerializer(_LineSerializer):
    """A line of a client."""

    latest = LinePointSerializer(allow_null=True)
    trend = LiftTrendSerializer()
    matched = MatchedComparisonSerializer()


class LiftMethodsSerializer(_Shown):
    """How each figure is made."""

    weekly_value = serializers.CharField()
    trend = serializers.CharField()
    verdict = serializers.CharField()
    weeks_more = serializers.CharField()
    matched = serializers.CharField()
    minimal_detectable_change = serializers.CharField()


class LiftSourcesSerializer(_Shown):
    """Where the figures come from, and how far they err."""

    formulas = serializers.CharField()
    published_error = serializers.CharField()
    effort = serializers.CharField()
    typical_error = serializers.CharField()


class _SpanSerializer(_Shown):
    client = serializers.UUIDField()
    since = serializers.DateField()
    this_week = serializers.DateField()
    formula = serializers.ChoiceField(choices=LIFT_FORMULAS)
    left_out = LeftOutWeekSerializer(many=True)
    weight_hidden = serializers.CharField(help_text="Why bodyweights are not shown; empty where they are.")
    methods = LiftMethodsSerializer()
    sources = LiftSourcesSerializer()
    cautions = serializers.ListField(child=serializers.CharField())


class LiftsSerializer(_SpanSerializer):
    """A client's lift lines."""

    lines = LiftLineSerializer(many=True)


class RecordSerializer(_Shown):
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


class AveragedChangeSerializer(_Shown):
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
    records = RecordSerializer(many=True)
    averaged = AveragedChangeSerializer()


class SideDifferenceSerializer(_Shown):
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


class DetectableChangeSerializer(_Shown):
    """The least change that is told from noise, by sessions averaged on either side."""

    sessions = serializers.IntegerField()
    mdc95_pct = serializers.FloatField()


class LiftSerializer(_SpanSerializer):
    """One lift of a client."""

    exercise = serializers.CharField()
    name = serializers.CharField()
    load_basis = serializers.CharField()
    lines = LiftLineDetailSerializer(many=True)
    sides = SideDifferenceSerializer(many=True)
    detectable_changes = DetectableChangeSerializer(many=True)


class ClientLineSerializer(_LineSerializer):
    """A line among those of many clients; its weekly values are Epley's."""

    client = serializers.UUIDField()
    client_name = serializers.CharField()
    latest_week = serializers.DateField()
    latest_kg = serializers.FloatField()
    trend = LiftTrendSerializer()
    matched = MatchedComparisonSerializer()


class LiftCountsSerializer(_Shown):
    """Lines by verdict, whatever verdicts are asked for."""

    improving = serializers.IntegerField()
    declining = serializers.IntegerField()
    plateau = serializers.IntegerField()
    undecided = serializers.IntegerField()
    not_enough_data = serializers.IntegerField()


class LiftTrendsSerializer(_Shown):
    """Lines of many clients."""

    items = ClientLineSerializer(many=True)
    next = serializers.URLField(allow_null=True)
    counts = LiftCountsSerializer()
    methods = LiftMethodsSerializer()
    sources = LiftSourcesSerializer()
    cautions = serializers.ListField(child=serializers.CharField())
