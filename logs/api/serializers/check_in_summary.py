"""What check-ins say, as it is read."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final, get_args

from rest_framework import serializers

from coaching.measures import references
from coaching.measures.baselines import CADENCES, DatedValue, NoScore
from coaching.measures.heart_rate_variability import Place
from coaching.screening.form_questions import DIRECTIONS
from logs.analysis.bodyweight_trend import BodyweightTrend
from logs.analysis.check_in_scales import CADENCES_FROM, ScaleSummary
from logs.analysis.references import THEIL_SEN
from logs.selectors.check_in_summary import ClientCheckIns

NO_SCORES: Final = get_args(NoScore)
HRV_PLACES: Final = get_args(Place)
SUMMARY_CAUTIONS: Final = (
    "This describes how somebody says they are, against what they said before; it is no diagnosis.",
    "Bounds of one, one and a half or two standard deviations are custom; none has been validated.",
    "One day says little: look at two days or more, or at two items at once, and ask the person.",
    "A higher or a lower heart rate variability is neither good nor bad by itself.",
)
_OFF: Final = "switched_off_for_care"
_METHODS: Final = {
    "scales": (
        "z = (answer - mean) / the larger of the sample standard deviation and 0.5 points, over the person's own 28 "
        "days before it (14 answers or more) or, of weekly forms, their last 8 (6 or more); the answer itself and days "
        "of absence are left out; several answers of a day are averaged; numbers have no floor"
    ),
    "resting_heart_rate": (
        "mean of the last 3 days (2 values or more) less the mean of the 28 days before them (14 or more); raised when "
        "over 5 b/min and over one own standard deviation"
    ),
    "heart_rate_variability": (
        "mean of ln RMSSD of the last 7 days (3 values or more) against the mean of the 28 days before them (14 or "
        "more) plus or minus half their standard deviation"
    ),
    "bodyweight": (
        "mean weighted exponentially by days elapsed (alpha 0.1 a day) over 84 days; rate by Theil-Sen over the last "
        "21 days (8 weigh-ins or more), with its 90 % interval; percent of their median"
    ),
}
_SOURCES: Final = {
    "scales": f"{references.HOOPER}; {references.BASELINE}; {references.SELF_REPORT}",
    "resting_heart_rate": references.RESTING_HR,
    "heart_rate_variability": f"{references.HRV}; {references.HRV_BOTH_WAYS}",
    "bodyweight": f"{references.BODYWEIGHT}; {THEIL_SEN}",
}


class _Shown(serializers.Serializer[Any]):
    pass


class DatedValueSerializer(_Shown):
    """A value of a local date."""

    local_date = serializers.DateField()
    value = serializers.FloatField()


class BaselineSerializer(_Shown):
    """The person's own earlier entries."""

    n = serializers.IntegerField()
    needed = serializers.IntegerField(help_text="Fewest entries for a mean.")
    first = serializers.DateField(allow_null=True)
    last = serializers.DateField(allow_null=True)
    mean = serializers.FloatField(allow_null=True)
    sd = serializers.FloatField(allow_null=True, help_text="Sample standard deviation.")


class ScaleSummarySerializer(_Shown):
    """The latest answer against the person's earlier ones."""

    name = serializers.CharField(help_text="The item, or the question's key.")
    text = serializers.CharField(help_text="The question as asked; empty for the four scales.")
    form = serializers.UUIDField(allow_null=True)
    direction = serializers.ChoiceField(choices=DIRECTIONS)
    cadence = serializers.ChoiceField(choices=CADENCES)
    cadence_from = serializers.ChoiceField(choices=CADENCES_FROM)
    local_date = serializers.DateField(allow_null=True, help_text="Of the latest answer within the days asked for.")
    value = serializers.FloatField(allow_null=True)
    baseline = BaselineSerializer()
    z = serializers.FloatField(allow_null=True, help_text="Standard deviations above the baseline's mean.")
    sd_used = serializers.FloatField(allow_null=True)
    worse_by_sd = serializers.FloatField(allow_null=True, help_text="z turned so that positive is worse.")
    reason = serializers.ChoiceField(choices=NO_SCORES, help_text="Why there is no z, unless `known`.")
    days = DatedValueSerializer(many=True)


class WordsSerializer(_Shown):
    """An answer in the person's own words, or by choice."""

    local_date = serializers.DateField()
    form = serializers.UUIDField()
    form_version = serializers.IntegerField()
    key = serializers.CharField()
    text = serializers.CharField(help_text="The question as it was asked.")
    kind = serializers.CharField()
    answer = serializers.CharField()


class RestingHeartRateSerializer(_Shown):
    """The resting heart rate of the last days against the person's own."""

    n = serializers.IntegerField()
    mean_bpm = serializers.FloatField(allow_null=True)
    baseline = BaselineSerializer(allow_null=True)
    difference_bpm = serializers.FloatField(allow_null=True)
    z = serializers.FloatField(allow_null=True)
    raised = serializers.BooleanField(allow_null=True)
    reason = serializers.ChoiceField(choices=NO_SCORES)
    why = serializers.CharField(help_text="In words, where care switches it off.")


class HeartRateVariabilitySerializer(_Shown):
    """The week's mean ln RMSSD against the person's own."""

    n = serializers.IntegerField()
    mean_ln = serializers.FloatField(allow_null=True)
    mean_ms = serializers.FloatField(allow_null=True, help_text="The geometric mean.")
    baseline = BaselineSerializer(allow_null=True)
    low_ln = serializers.FloatField(allow_null=True)
    high_ln = serializers.FloatField(allow_null=True)
    place = serializers.ChoiceField(choices=HRV_PLACES, allow_null=True)
    reason = serializers.ChoiceField(choices=NO_SCORES)
    why = serializers.CharField()


class BodyweightTrendSerializer(_Shown):
    """Bodyweight without its daily noise."""

    n = serializers.IntegerField(help_text="Weigh-ins of the last 84 days, one a day.")
    last = DatedValueSerializer(allow_null=True)
    mean_kg = serializers.FloatField(allow_null=True)
    daily = DatedValueSerializer(many=True, help_text="The smoothed bodyweight at each weigh-in.")
    rate_n = serializers.IntegerField(help_text="Weigh-ins of the last 21 days.")
    kg_per_week = serializers.FloatField(allow_null=True)
    low_kg_per_week = serializers.FloatField(allow_null=True)
    high_kg_per_week = serializers.FloatField(allow_null=True)
    pct_per_week = serializers.FloatField(allow_null=True)
    low_pct_per_week = serializers.FloatField(allow_null=True)
    high_pct_per_week = serializers.FloatField(allow_null=True)
    reason = serializers.ChoiceField(choices=NO_SCORES)
    why = serializers.CharField()


class CheckInTextsSerializer(_Shown):
    """A sentence for each kind of figure."""

    scales = serializers.CharField()
    resting_heart_rate = serializers.CharField()
    heart_rate_variability = serializers.CharField()
    bodyweight = serializers.CharField()


class CheckInSummarySerializer(_Shown):
    """What a client's check-ins say against their own earlier ones."""

    client = serializers.UUIDField()
    today = serializers.DateField()
    days = serializers.IntegerField()
    check_ins = serializers.IntegerField(help_text="Within those days.")
    away_days = serializers.IntegerField(help_text="With an entry; left out of every baseline.")
    items = ScaleSummarySerializer(many=True, help_text="Sleep, fatigue, stress, soreness: 1 to 7, higher is worse.")
    wellness_sum = ScaleSummarySerializer(help_text="Of all four, 4 to 28, higher is worse.")
    questions = ScaleSummarySerializer(many=True, help_text="The business's own scales and numbers.")
    words = WordsSerializer(many=True)
    resting_heart_rate = RestingHeartRateSerializer()
    heart_rate_variability = HeartRateVariabilitySerializer()
    bodyweight = BodyweightTrendSerializer()
    methods = CheckInTextsSerializer()
    sources = CheckInTextsSerializer()
    cautions = serializers.ListField(child=serializers.CharField())


def show_check_in_summary(found: ClientCheckIns) -> dict[str, Any]:
    """Return a summary as it is read."""
    summary = found.summary
    hr, hrv = summary.resting_heart_rate, summary.heart_rate_variability
    return {
        "client": found.client_id,
        "today": found.today,
        "days": found.days,
        "check_ins": summary.check_ins,
        "away_days": summary.away_days,
        "items": [_scale(one) for one in summary.items],
        "wellness_sum": _scale(summary.wellness_sum),
        "questions": [_scale(one) for one in summary.questions],
        "words": [{"form": one.form_id, **_without(asdict(one), "form_id")} for one in summary.words],
        "resting_heart_rate": _off(RestingHeartRateSerializer, summary.heart_rate_off)
        if hr is None
        else {**asdict(hr), "why": ""},
        "heart_rate_variability": _off(HeartRateVariabilitySerializer, summary.heart_rate_off)
        if hrv is None
        else {**asdict(hrv), "why": ""},
        "bodyweight": _off(BodyweightTrendSerializer, summary.bodyweight_off)
        if summary.bodyweight is None
        else _bodyweight(summary.bodyweight),
        "methods": _METHODS,
        "sources": _SOURCES,
        "cautions": list(SUMMARY_CAUTIONS),
    }


def _scale(one: ScaleSummary) -> dict[str, Any]:
    return {
        "name": one.name,
        "text": one.text,
        "form": one.form_id or None,
        "direction": one.direction,
        "cadence": one.cadence,
        "cadence_from": one.cadence_from,
        **asdict(one.score),
        "worse_by_sd": one.worse_by_sd,
        "days": [_dated(day) for day in one.days],
    }


def _dated(entry: DatedValue) -> dict[str, Any]:
    return {"local_date": entry.local_date, "value": entry.value}


def _bodyweight(trend: BodyweightTrend) -> dict[str, Any]:
    last = None if trend.last is None else _dated(trend.last)
    return {**asdict(trend), "last": last, "daily": [_dated(entry) for entry in trend.daily], "why": ""}


def _off(shape: type[_Shown], why: str) -> dict[str, Any]:
    """Show nothing of what care switches off, not even how much there is."""
    empty: dict[str, Any] = dict.fromkeys(shape().fields)
    counts = {name: 0 for name in ("n", "rate_n") if name in empty}
    lists: dict[str, Any] = {"daily": []} if "daily" in empty else {}
    return {**empty, **counts, **lists, "reason": _OFF, "why": why}


def _without(fields: Mapping[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in fields.items() if key != name}
