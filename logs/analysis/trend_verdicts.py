"""What a trend shows: improving, declining, a plateau, or nothing yet.

"No significant trend" is not a plateau. A plateau is shown by equivalence: the whole interval lies within what the
business calls negligible. What is neither is undecided, and says how many more weeks it would take.
"""

from dataclasses import dataclass, replace
from math import floor, nan
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from coaching.measures.load import KG_PER_LB, LoadUnit
from logs.analysis.constants import (
    DAYS_PER_WEEK,
    NEGLIGIBLE_PCT_PER_WEEK,
    PER_CENT,
    TREND_SHRINKS_BY,
    TREND_WEEKS_AT_LEAST,
    TREND_WEEKS_MOST,
)
from logs.analysis.lift_words import with_interval
from logs.analysis.trend import Floats, Slope, Slopes

Verdict = Literal["improving", "declining", "plateau", "undecided", "not_enough_data"]
WeeksMoreReason = Literal["known", "decided", "over_52_weeks", "no_level", "no_interval"]

VERDICTS: Final[tuple[Verdict, ...]] = ("improving", "declining", "plateau", "undecided", "not_enough_data")
"""What a trend may show. Practice."""
WEEKS_MORE_REASONS: Final[tuple[WeeksMoreReason, ...]] = (
    "known",
    "decided",
    "over_52_weeks",
    "no_level",
    "no_interval",
)
"""Why it is or is not said how many more weeks a verdict would take. Practice."""
WEEKS_MORE_ASSUMES: Final = (
    "one value more each week, the slope and the week-to-week noise staying as they are: the interval then narrows by "
    "the power -1.5 of the number of values, until it leaves 0 or fits between the negligible bounds; a rough guide"
)
"""What the number of further weeks assumes. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendPolicy:
    """What a business may change about trends."""

    negligible_pct_per_week: float = NEGLIGIBLE_PCT_PER_WEEK
    """Percent a week within which the whole interval must lie to be a plateau. Practice."""

    weeks_at_least: int = TREND_WEEKS_AT_LEAST
    """Fewest weekly values of which a trend is told. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """A line's trend.

    Attributes:
        verdict: What it shows.
        n: Weekly values that went in.
        kg_per_week: The slope; None under two values.
        low_kg_per_week: The lower end of its 90 % interval.
        high_kg_per_week: The upper end.
        level_kg: What percents are of: the median value (the fitted value at the median date), with the bodyweight
            moved added for added loads; None when unknown or not above 0.
        pct_per_week: The slope in percent of the level; None without level or slope.
        low_pct_per_week: The lower end.
        high_pct_per_week: The upper end.
        negligible_pct_per_week: The bound of a plateau.
        weeks_more: About how many more weekly values a verdict would take; None with the reason.
        weeks_more_reason: `known`, or why there is no such number.
        sentence: All that in words.
    """

    verdict: Verdict
    n: int
    kg_per_week: float | None
    low_kg_per_week: float | None
    high_kg_per_week: float | None
    level_kg: float | None
    pct_per_week: float | None
    low_pct_per_week: float | None
    high_pct_per_week: float | None
    negligible_pct_per_week: float
    weeks_more: int | None
    weeks_more_reason: WeeksMoreReason
    sentence: str


_DEFAULT: Final = TrendPolicy()


def verdict(*, low: float, high: float, n: int, policy: TrendPolicy = _DEFAULT) -> Verdict:
    """Judge one interval.

    Args:
        low: Its lower end, percent a week.
        high: Its upper end.
        n: Weekly values.
        policy: The bound, and the fewest values.

    Returns:
        `improving` above 0, `declining` below, `plateau` wholly inside the bound, else `undecided`; `not_enough_data`
        with too few values.

    Source: two one-sided tests at 5 %, Schuirmann 1987, from memory; the bound is practice.
    """
    return VERDICTS[int(_codes(np.array([low]), np.array([high]), np.array([n]), np.array([1.0]), policy)[0])]


def verdicts(slopes: Slopes, level: Floats, policy: TrendPolicy = _DEFAULT) -> NDArray[np.int64]:
    """Judge many lines at once.

    Args:
        slopes: Their slopes in kg a day.
        level: What percents of each are of, in kg; NaN or not above 0 when unknown.
        policy: The bound, and the fewest values.

    Returns:
        Places in `VERDICTS`. Without a level the sign is still told, and a plateau never.

    Source: as `verdict`.
    """
    scale = DAYS_PER_WEEK * PER_CENT
    return _codes(slopes.low * scale, slopes.high * scale, slopes.n, level, policy)


def _codes(low: Floats, high: Floats, n: NDArray[Any], level: Floats, policy: TrendPolicy) -> NDArray[np.int64]:
    known = level > 0
    bound = policy.negligible_pct_per_week * np.where(known, level, nan)
    shown = (n < policy.weeks_at_least, low > 0, high < 0, (low > -bound) & (high < bound))
    codes = [VERDICTS.index(word) for word in ("not_enough_data", "improving", "declining", "plateau")]
    return np.select(shown, codes, default=VERDICTS.index("undecided"))


def trend_of(
    slope: Slope, *, body_kg: float | None = 0.0, policy: TrendPolicy = _DEFAULT, unit: LoadUnit = "kg"
) -> Trend:
    """Say what a line's slope shows.

    Args:
        slope: The line's slope in kg a day.
        body_kg: The bodyweight moved beside an added load, which percents count in; 0 for other loads, None unknown.
        policy: The bound, and the fewest values.
        unit: The unit of the words, where they are not in percent.

    Returns:
        The trend in kg and percent a week, with verdict and sentence.

    Source: as `verdict`; the number of further weeks as in `WEEKS_MORE_ASSUMES`.
    """
    per_week = [None if one is None else one * DAYS_PER_WEEK for one in (slope.per_day, slope.low, slope.high)]
    level = level_kg(slope.level, body_kg)
    pct = [None if one is None or level is None else one / level * PER_CENT for one in per_week]
    found = _verdict_of(slope, level, policy)
    weeks_more, reason = _weeks_more(pct, slope.n, found, policy)
    trend = Trend(
        verdict=found,
        n=slope.n,
        kg_per_week=per_week[0],
        low_kg_per_week=per_week[1],
        high_kg_per_week=per_week[2],
        level_kg=level,
        pct_per_week=pct[0],
        low_pct_per_week=pct[1],
        high_pct_per_week=pct[2],
        negligible_pct_per_week=policy.negligible_pct_per_week,
        weeks_more=weeks_more,
        weeks_more_reason=reason,
        sentence="",
    )
    return replace(trend, sentence=_sentence(trend, policy, unit))


def level_kg(median_kg: float | None, body_kg: float | None) -> float | None:
    """Give what percents of a line are of.

    Args:
        median_kg: The median of its values; None without any.
        body_kg: The bodyweight moved beside an added load; 0 for other loads, None unknown.

    Returns:
        Their sum; None when unknown or not above 0.

    Source: practice.
    """
    if median_kg is None or body_kg is None or median_kg + body_kg <= 0:
        return None
    return median_kg + body_kg


def _verdict_of(slope: Slope, level: float | None, policy: TrendPolicy) -> Verdict:
    arrays = [np.array([nan if one is None else one]) for one in (slope.per_day, slope.low, slope.high, level)]
    per_day, low, high, levels = arrays
    return VERDICTS[int(verdicts(Slopes(per_day, low, high, np.array([slope.n]), levels), levels, policy)[0])]


def _weeks_more(
    pct: list[float | None], n: int, found: Verdict, policy: TrendPolicy
) -> tuple[int | None, WeeksMoreReason]:
    if found == "not_enough_data":
        return policy.weeks_at_least - n, "known"
    if found != "undecided":
        return None, "decided"
    slope, low, high = pct
    if slope is None or low is None or high is None:
        return None, "no_level" if slope is None else "no_interval"
    half, size = (high - low) / 2, abs(slope)
    # The half-width that would do: short of 0 at this slope, or room left within the bound, whichever comes sooner.
    wide = max(size, policy.negligible_pct_per_week - size)
    if wide <= 0:
        return None, "over_52_weeks"
    needed = floor(n * (wide / half) ** (1 / TREND_SHRINKS_BY)) + 1 if half > 0 else n + 1
    more = max(needed - n, 1)
    return (more, "known") if more <= TREND_WEEKS_MOST else (None, "over_52_weeks")


def _sentence(trend: Trend, policy: TrendPolicy, unit: LoadUnit) -> str:
    values = f"{trend.n} weekly value" + ("" if trend.n == 1 else "s")
    if trend.verdict == "not_enough_data":
        return f"{values}: under {policy.weeks_at_least} no trend is told; {_weeks(trend.weeks_more)} to go."
    figures = f"{_figures(trend, unit)} a week, from {values}"
    bound = f"{trend.negligible_pct_per_week:g} %"
    if trend.verdict == "plateau":
        return f"A plateau: {figures}; the whole interval lies within {bound} a week either way."
    if trend.verdict != "undecided":
        return f"{trend.verdict.capitalize()}: {figures}; the interval leaves out 0."
    words = f"Undecided, which is no plateau: {figures}; the interval takes in 0"
    if trend.level_kg is None:
        return f"{words}, and percents can't be told without a bodyweight."
    wait = "more than a year more" if trend.weeks_more is None else f"about {_weeks(trend.weeks_more)} more"
    return f"{words} and reaches past {bound}. At this slope and noise it would take {wait}."


def _figures(trend: Trend, unit: LoadUnit) -> str:
    if trend.pct_per_week is not None:
        return with_interval((trend.pct_per_week, trend.low_pct_per_week, trend.high_pct_per_week), "%")
    kg_per_unit = 1.0 if unit == "kg" else float(KG_PER_LB)
    in_kg = (trend.kg_per_week, trend.low_kg_per_week, trend.high_kg_per_week)
    return with_interval([None if one is None else one / kg_per_unit for one in in_kg], unit)


def _weeks(count: int | None) -> str:
    return f"{count} week" + ("" if count == 1 else "s")
