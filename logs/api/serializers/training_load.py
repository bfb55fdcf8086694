"""Load on the person, as it is read."""

from dataclasses import asdict
from typing import Any, Final, get_args

from rest_framework import serializers

from logs.analysis.constants import ACUTE_DAYS, CHRONIC_DAYS, MOST_UNKNOWN_DAYS, OWN_WEEKS, OWN_WEEKS_AT_LEAST
from logs.analysis.load_days import DAY_KINDS, UNKNOWN_LOADS, LoadDay
from logs.analysis.references import EWMA, FOSTER, LOAD_RATIO_CRITICISM, PRACTICE
from logs.analysis.session_load import Reason
from logs.analysis.training_load import NO_COMPARISONS, LoadSpan
from logs.analysis.weighted_load import NO_MEANS
from logs.selectors.training_load import TrainingLoad

SPAN_REASONS: Final = (*get_args(Reason), "not_complete")
LOAD_CAUTIONS: Final = (
    "Load describes what this person did against their own history; it is not an injury predictor.",
    "No figure here should by itself change a plan or stop anyone.",
    "Session load is a rating times minutes: it says nothing of what was lifted, and people rate unlike.",
    "With sessions of like load monotony mostly tells how many days a week are trained.",
)
_METHODS: Final = {
    "session_load": (
        "rating of the whole session (0 to 10) times its minutes, arbitrary units; a day is the sum of its sessions, a "
        "known rest day 0; a day with a planned session that was not logged, or with a session of unknown rating or "
        "minutes, is unknown; of a floating week as many days as sessions were missed"
    ),
    "monotony": (
        "mean of seven days' load divided by their sample standard deviation (n - 1), rest days as zeros; none with an "
        "unknown day"
    ),
    "strain": "the seven days' total times monotony (Foster's training strain)",
    "weighted": (
        f"exponentially weighted mean, lambda = 2 / (N + 1), N = {ACUTE_DAYS} and {CHRONIC_DAYS} days, the first known "
        f"day as seed, shown from {CHRONIC_DAYS} days of history on; on an unknown day the mean stays as it was; none "
        f"with more than {MOST_UNKNOWN_DAYS} unknown days among the last {CHRONIC_DAYS}, or with more of them than "
        f"days trained there or among the last {ACUTE_DAYS}"
    ),
    "comparison": (
        "the last complete week against the person's own complete weeks before it, those with an unknown day or a day "
        f"of absence left out: median and range of the latest {OWN_WEEKS} ({OWN_WEEKS_AT_LEAST} at least), and the "
        "share of all of them that were lower"
    ),
}


class _Shown(serializers.Serializer[Any]):
    pass


class LoadDaySerializer(_Shown):
    """One local day."""

    local_date = serializers.DateField()
    kind = serializers.ChoiceField(choices=DAY_KINDS)
    load = serializers.FloatField(allow_null=True, help_text="Arbitrary units; null when unknown.")
    sessions = serializers.IntegerField()
    minutes = serializers.FloatField(allow_null=True)
    unknown = serializers.ListField(child=serializers.ChoiceField(choices=UNKNOWN_LOADS), help_text="Why, if unknown.")
    ewma_7 = serializers.FloatField(allow_null=True)
    ewma_28 = serializers.FloatField(allow_null=True)


class LoadSpanSerializer(_Shown):
    """Seven days' load."""

    first = serializers.DateField()
    last = serializers.DateField()
    complete = serializers.BooleanField(help_text="All seven days are over and within the history.")
    total = serializers.FloatField(help_text="Of the days that are known.")
    sessions = serializers.IntegerField()
    days_unknown = serializers.IntegerField()
    monotony = serializers.FloatField(allow_null=True)
    strain = serializers.FloatField(allow_null=True)
    reason = serializers.ChoiceField(choices=SPAN_REASONS, help_text="Why there is no monotony, unless `known`.")


class LoadComparisonSerializer(_Shown):
    """The last complete week against the person's own weeks before it."""

    week_start = serializers.DateField(allow_null=True)
    total = serializers.FloatField(allow_null=True)
    n = serializers.IntegerField(help_text="Weeks that median and range are of.")
    median = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    change_pct = serializers.FloatField(allow_null=True, help_text="The week less the median, of the median.")
    own_weeks = serializers.IntegerField(help_text="Complete and wholly known weeks before it.")
    share_below = serializers.FloatField(allow_null=True, help_text="Share of those with less load, 0 to 1.")
    weeks_left_out = serializers.IntegerField(help_text="Of the latest six, those with an unknown day.")
    reason = serializers.ChoiceField(choices=NO_COMPARISONS)


class LoadRatioSerializer(_Shown):
    """The short mean over the long one: a description, with what is said against it."""

    value = serializers.FloatField(allow_null=True)
    criticism = serializers.CharField()


class WeightedLoadSerializer(_Shown):
    """The weighted means on the last day."""

    as_of = serializers.DateField(allow_null=True)
    ewma_7 = serializers.FloatField(allow_null=True)
    ewma_28 = serializers.FloatField(allow_null=True)
    ratio = LoadRatioSerializer()
    history_days = serializers.IntegerField()
    days_unknown = serializers.IntegerField(help_text="On these the means stayed as they were.")
    days_unknown_of_last_28 = serializers.IntegerField()
    reason = serializers.ChoiceField(choices=NO_MEANS, help_text="Why there are none, unless `known`.")


class LoadMethodsSerializer(_Shown):
    """How each figure is made."""

    session_load = serializers.CharField()
    monotony = serializers.CharField()
    strain = serializers.CharField()
    weighted = serializers.CharField()
    comparison = serializers.CharField()


class LoadSourcesSerializer(_Shown):
    """Where each figure comes from."""

    session_load = serializers.CharField()
    weighted = serializers.CharField()
    comparison = serializers.CharField()


class TrainingLoadSerializer(_Shown):
    """A client's load by day and week."""

    client = serializers.UUIDField()
    today = serializers.DateField()
    as_of = serializers.DateField(allow_null=True, help_text="The last day that counts as over.")
    first_day = serializers.DateField(allow_null=True, help_text="The first day of the history.")
    days = LoadDaySerializer(many=True)
    weeks = LoadSpanSerializer(many=True)
    last_7_days = LoadSpanSerializer(allow_null=True)
    comparison = LoadComparisonSerializer()
    weighted = WeightedLoadSerializer()
    sd_kind = serializers.CharField()
    methods = LoadMethodsSerializer()
    sources = LoadSourcesSerializer()
    cautions = serializers.ListField(child=serializers.CharField())


def show_training_load(found: TrainingLoad) -> dict[str, Any]:
    """Return a client's load as it is read."""
    weighted = found.weighted
    return {
        "client": found.client_id,
        "today": found.today,
        "as_of": found.as_of,
        "first_day": found.first_day,
        "days": [_day(day, weighted.daily.get(day.local_date)) for day in found.days],
        "weeks": [_span(span) for span in found.weeks],
        "last_7_days": None if found.last_7_days is None else _span(found.last_7_days),
        "comparison": asdict(found.comparison),
        "weighted": {
            "as_of": weighted.as_of,
            "ewma_7": weighted.acute,
            "ewma_28": weighted.chronic,
            "ratio": {"value": weighted.ratio, "criticism": LOAD_RATIO_CRITICISM},
            "history_days": weighted.history_days,
            "days_unknown": weighted.days_unknown,
            "days_unknown_of_last_28": weighted.days_unknown_of_last_28,
            "reason": weighted.reason,
        },
        "sd_kind": "sample",
        "methods": _METHODS,
        "sources": {"session_load": FOSTER, "weighted": EWMA, "comparison": PRACTICE},
        "cautions": list(LOAD_CAUTIONS),
    }


def _day(day: LoadDay, means: tuple[float, float] | None) -> dict[str, Any]:
    short, long = means or (None, None)
    return {**asdict(day), "ewma_7": short, "ewma_28": long}


def _span(span: LoadSpan) -> dict[str, Any]:
    return asdict(span)
