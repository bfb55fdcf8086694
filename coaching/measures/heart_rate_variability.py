"""Heart rate variability: RMSSD, its logarithm, and the week's mean against the person's own baseline.

A single day says little, so the week's mean is read; and a rise is told as plainly as a fall, since neither is good or
bad by itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from math import exp, isfinite, log, sqrt
from statistics import fmean
from typing import Literal

from coaching.measures.baselines import Baseline, DatedValue, NoScore, baseline_before, shown
from coaching.measures.constants import HRV_AT_LEAST, HRV_BAND_SD, HRV_DAYS

Place = Literal["above_usual", "usual", "below_usual"]


class HeartRateVariabilityError(ValueError):
    """Intervals or values of which there is no RMSSD or logarithm."""

    code = "invalid_heart_rate_variability"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeeklyHrv:
    """The mean of a week's ln RMSSD against its baseline.

    Attributes:
        n: Values in the last seven days.
        mean_ln: Their mean ln RMSSD; None with fewer than three.
        mean_ms: That mean back in milliseconds (geometric mean).
        baseline: ln RMSSD of the 28 days before those seven.
        low_ln: The baseline's mean less half its SD.
        high_ln: The baseline's mean plus half its SD.
        place: Where the week's mean lies; None with a reason.
        reason: `known`, or why there is no place.
    """

    n: int
    mean_ln: float | None
    mean_ms: float | None
    baseline: Baseline
    low_ln: float | None
    high_ln: float | None
    place: Place | None
    reason: NoScore


def rmssd_ms(intervals_ms: Sequence[float]) -> float:
    """Take the root mean square of successive differences.

    Args:
        intervals_ms: Intervals between beats in milliseconds, in order, three or more.

    Returns:
        RMSSD in milliseconds; the mean is over the differences, one fewer than the intervals.

    Raises:
        HeartRateVariabilityError: Fewer than three intervals, or one that is not a positive number.

    Source: definition of RMSSD.
    """
    if len(intervals_ms) < 3 or not all(isfinite(one) and one > 0 for one in intervals_ms):  # noqa: PLR2004 — two differences
        raise HeartRateVariabilityError("Give three intervals or more, each a positive number of milliseconds.")
    return sqrt(fmean((later - earlier) ** 2 for earlier, later in pairwise(intervals_ms)))


def ln_rmssd(value_ms: float) -> float:
    """Take the natural logarithm of RMSSD, which is nearer to symmetric.

    Args:
        value_ms: RMSSD in milliseconds, over 0.

    Raises:
        HeartRateVariabilityError: It is not over 0.

    Source: Plews et al. 2013.
    """
    if not (isfinite(value_ms) and value_ms > 0):
        raise HeartRateVariabilityError(f"RMSSD is over 0 ms, not {value_ms}.")
    return log(value_ms)


def weekly_hrv(values_ms: Sequence[DatedValue], day: date) -> WeeklyHrv:
    """Compare the last seven days' mean ln RMSSD with the person's own baseline.

    Args:
        values_ms: RMSSD in milliseconds, one a local date, in any order; zeros are of a failed reading and left out.
        day: The last of the seven days.

    Returns:
        The week's mean, the band of the 28 days before the week (14 values or more), and where the mean lies. The
        week is no part of its own baseline.

    Raises:
        BaselineError: Two values of one day.

    Source: Plews et al. 2013 and 2014; the band of half a standard deviation from memory.
    """
    logs = [DatedValue(entry.local_date, ln_rmssd(entry.value)) for entry in values_ms if entry.value > 0]
    first = day - timedelta(days=HRV_DAYS - 1)
    week = [entry.value for entry in logs if first <= entry.local_date <= day]
    baseline = baseline_before(logs, first)
    mean_ln = shown(fmean(week)) if len(week) >= HRV_AT_LEAST else None
    low_ln, high_ln = _band(baseline)
    return WeeklyHrv(
        n=len(week),
        mean_ln=mean_ln,
        mean_ms=None if mean_ln is None else shown(exp(mean_ln)),
        baseline=baseline,
        low_ln=low_ln,
        high_ln=high_ln,
        place=_place(mean_ln, low_ln, high_ln),
        reason=_reason(week, mean_ln, baseline, low_ln, high_ln),
    )


def _reason(
    week: Sequence[float], mean_ln: float | None, baseline: Baseline, low_ln: float | None, high_ln: float | None
) -> NoScore:
    if not week and not baseline.n:
        return "no_entry"
    if mean_ln is None or low_ln is None:
        return "too_few_entries"
    return "zero_variance" if low_ln == high_ln else "known"


def _band(baseline: Baseline) -> tuple[float | None, float | None]:
    if baseline.mean is None or baseline.sd is None:
        return None, None
    half = HRV_BAND_SD * baseline.sd
    return shown(baseline.mean - half), shown(baseline.mean + half)


def _place(mean_ln: float | None, low_ln: float | None, high_ln: float | None) -> Place | None:
    if mean_ln is None or low_ln is None or high_ln is None or low_ln == high_ln:
        return None
    if mean_ln > high_ln:
        return "above_usual"
    return "below_usual" if mean_ln < low_ln else "usual"
