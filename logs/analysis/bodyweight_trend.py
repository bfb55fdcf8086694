"""Bodyweight without its daily noise: a mean that knows of gaps, and a rate with its interval.

A change from one day to the next says nothing; a rate is given only from enough weigh-ins, and never from the first and
the last of them alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from coaching.measures.baselines import DatedValue, shown
from coaching.measures.constants import BODYWEIGHT_ALPHA
from coaching.measures.day_aware_mean import day_aware_means
from logs.analysis.constants import (
    BODYWEIGHT_RATE_AT_LEAST,
    BODYWEIGHT_RATE_DAYS,
    BODYWEIGHT_TREND_DAYS,
    DAYS_PER_WEEK,
    PER_CENT,
)
from logs.analysis.trend import theil_sen

NoTrend = Literal["known", "no_entry", "too_few_entries", "switched_off_for_care"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyweightPolicy:
    """What a business may change about bodyweight."""

    alpha: float = BODYWEIGHT_ALPHA
    """Weight of a weigh-in one day after the last. Practice."""

    rate_days: int = BODYWEIGHT_RATE_DAYS
    """Days from which a rate is taken. Practice."""

    rate_at_least: int = BODYWEIGHT_RATE_AT_LEAST
    """Fewest weigh-ins among them. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyweightTrend:
    """Where bodyweight stands and how fast it changes.

    Attributes:
        n: Weigh-ins of the last 84 days.
        last: The latest of them; None without one.
        mean_kg: The smoothed bodyweight at the latest weigh-in.
        daily: The smoothed bodyweight at each weigh-in.
        rate_n: Weigh-ins of the last 21 days.
        kg_per_week: Their rate; None with fewer than eight.
        low_kg_per_week: The lower end of its 90 % interval.
        high_kg_per_week: The upper end.
        pct_per_week: The rate in percent of their median.
        low_pct_per_week: The lower end.
        high_pct_per_week: The upper end.
        reason: `known`, or why there is no rate.
    """

    n: int
    last: DatedValue | None = None
    mean_kg: float | None = None
    daily: tuple[DatedValue, ...] = ()
    rate_n: int = 0
    kg_per_week: float | None = None
    low_kg_per_week: float | None = None
    high_kg_per_week: float | None = None
    pct_per_week: float | None = None
    low_pct_per_week: float | None = None
    high_pct_per_week: float | None = None
    reason: NoTrend = "known"


_DEFAULT = BodyweightPolicy()


def bodyweight_trend(
    weigh_ins: Sequence[DatedValue], today: date, policy: BodyweightPolicy = _DEFAULT
) -> BodyweightTrend:
    """Smooth bodyweight and take its rate of change.

    Args:
        weigh_ins: Kilograms, one a local date, oldest first.
        today: The person's local date; later weigh-ins are left out.
        policy: What a business may change.

    Returns:
        The day-aware exponentially weighted mean of the last 84 days, and the Theil-Sen slope of the last 21 with its
        90 % interval, from eight weigh-ins on.

    Raises:
        DayAwareMeanError: Dates do not rise, or a value is not finite.

    Source: Theil-Sen; windows and weight are practice.
    """
    since = today - timedelta(days=BODYWEIGHT_TREND_DAYS - 1)
    taken = [entry for entry in weigh_ins if since <= entry.local_date <= today]
    if not taken:
        return BodyweightTrend(n=0, reason="no_entry")
    means = [shown(mean) for mean in day_aware_means(taken, policy.alpha)]
    daily = tuple(DatedValue(entry.local_date, mean) for entry, mean in zip(taken, means, strict=True))
    recent = [entry for entry in taken if entry.local_date > today - timedelta(days=policy.rate_days)]
    known = {"n": len(taken), "last": taken[-1], "mean_kg": means[-1], "daily": daily, "rate_n": len(recent)}
    if len(recent) < policy.rate_at_least:
        return BodyweightTrend(**known, reason="too_few_entries")  # type: ignore[arg-type]  # named one by one above
    slope = theil_sen([entry.local_date.toordinal() for entry in recent], [entry.value for entry in recent])
    kg = [_weekly(one, 1.0) for one in (slope.per_day, slope.low, slope.high)]
    pct = [_weekly(one, PER_CENT / (slope.level or 1)) for one in (slope.per_day, slope.low, slope.high)]
    return BodyweightTrend(
        **known,  # type: ignore[arg-type]  # named one by one above
        kg_per_week=kg[0],
        low_kg_per_week=kg[1],
        high_kg_per_week=kg[2],
        pct_per_week=pct[0],
        low_pct_per_week=pct[1],
        high_pct_per_week=pct[2],
    )


def _weekly(per_day: float | None, factor: float) -> float | None:
    return None if per_day is None else shown(per_day * DAYS_PER_WEEK * factor)
