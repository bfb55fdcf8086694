"""Lift lines, as they are read: the shapes."""

from typing import Any, Final, get_args

from rest_framework import serializers

from logs.analysis.lift_lines import NO_ESTIMATES
from logs.analysis.lift_weeks import LEFT_OUT
from logs.analysis.matched import BASES, DIRECTIONS, NO_MATCHES
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


class LiftLineNameSerializer(_Shown):
    """What makes a line."""

    line = serializers.CharField(help_text="What makes the line: exercise, side, tempo class, place, machine.")
    exercise = serializers.CharField()
    name = serializers.CharField()
    side = serializers.CharField()
    tempo_class = serializers.ChoiceField(choices=TEMPO_CLASSES)
    place = serializers.CharField()
    machine = serializers.CharField()
    note = serializers.CharField(help_text="What estimates of this line are worth, outside the standard tempo.")


class NoValueReasonSerializer(_Shown):
    """Why sessions gave no value."""

    reason = serializers.ChoiceField(choices=NO_ESTIMATES)
    sessions = serializers.IntegerField()


class WithoutValueSerializer(_Shown):
    """Sessions that gave the line no value, and why; of weeks that do not stay out."""

    sessions = serializers.IntegerField()
    of_sessions = serializers.IntegerField()
    reasons = NoValueReasonSerializer(many=True)
    sentence = serializers.CharField()


class LiftLineSerializer(LiftLineNameSerializer):
    """A line of a client."""

    latest = LinePointSerializer(allow_null=True)
    trend = LiftTrendSerializer()
    matched = MatchedComparisonSerializer()
    without_value = WithoutValueSerializer(allow_null=True, help_text="Null where every session gave a value.")


class LiftMethodsSerializer(_Shown):
    """How each figure is made."""

    weekly_value = serializers.CharField()
    trend = serializers.CharField()
    verdict = serializers.CharField()
    weeks_more = serializers.CharField()
    matched = serializers.CharField()
    records = serializers.CharField()
    minimal_detectable_change = serializers.CharField()


class LiftSourcesSerializer(_Shown):
    """Where the figures come from, and how far they err."""

    formulas = serializers.CharField()
    published_error = serializers.CharField()
    effort = serializers.CharField()
    typical_error = serializers.CharField()


class LiftSpanSerializer(_Shown):
    """Whose lines, over which weeks, and how they are made."""

    client = serializers.UUIDField()
    since = serializers.DateField()
    this_week = serializers.DateField()
    formula = serializers.ChoiceField(choices=LIFT_FORMULAS)
    left_out = LeftOutWeekSerializer(many=True)
    weight_hidden = serializers.CharField(help_text="Why bodyweights are not shown; empty where they are.")
    methods = LiftMethodsSerializer()
    sources = LiftSourcesSerializer()
    cautions = serializers.ListField(child=serializers.CharField())


class LiftsSerializer(LiftSpanSerializer):
    """A client's lift lines."""

    lines = LiftLineSerializer(many=True)
