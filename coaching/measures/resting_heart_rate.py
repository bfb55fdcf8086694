"""The resting heart rate of the last days against the person's own."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from coaching.measures.baselines import Baseline, DatedValue, NoScore, baseline_before, shown, standard_score
from coaching.measures.constants import (
    RESTING_HR_AT_LEAST,
    RESTING_HR_DAYS,
    RESTING_HR_RISE_BPM,
    RESTING_HR_RISE_SD,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RestingHeartRatePolicy:
    """What a business may change about a raised resting heart rate."""

    rise_bpm: float = RESTING_HR_RISE_BPM
    """Beats a minute above the baseline. Practice."""

    rise_sd: float = RESTING_HR_RISE_SD
    """Own standard deviations above the baseline. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RestingHeartRate:
    """The mean of the last three days against the 28 before them.

    Attributes:
        n: Values in the last three days.
        mean_bpm: Their mean; None with fewer than two.
        baseline: The 28 days before.
        difference_bpm: Mean less baseline.
        z: That in the person's own standard deviations.
        raised: Whether it lies above by more than both bounds; None when it can't be said.
        reason: `known`, or why nothing is said.
    """

    n: int
    mean_bpm: float | None
    baseline: Baseline
    difference_bpm: float | None
    z: float | None
    raised: bool | None
    reason: NoScore


_DEFAULT = RestingHeartRatePolicy()


def resting_heart_rate(
    values_bpm: Sequence[DatedValue], day: date, policy: RestingHeartRatePolicy = _DEFAULT
) -> RestingHeartRate:
    """Compare the last three days' resting heart rate with the person's own.

    Args:
        values_bpm: Beats a minute at rest, one value a local date, in any order.
        day: The last of the three days.
        policy: What a business may change.

    Returns:
        The mean of two or three values, its distance from the mean of the 28 days before (14 values or more), and
        whether it is raised: by more than 5 b/min and more than one own standard deviation.

    Raises:
        BaselineError: Two values of one day.

    Source: practice.
    """
    first = day - timedelta(days=RESTING_HR_DAYS - 1)
    latest = [entry.value for entry in values_bpm if first <= entry.local_date <= day]
    baseline = baseline_before(values_bpm, first)
    mean_bpm = shown(fmean(latest)) if len(latest) >= RESTING_HR_AT_LEAST else None
    if mean_bpm is None or baseline.mean is None or baseline.sd is None:
        reason: NoScore = "too_few_entries" if latest or baseline.n else "no_entry"
        return RestingHeartRate(
            n=len(latest), mean_bpm=mean_bpm, baseline=baseline, difference_bpm=None, z=None, raised=None, reason=reason
        )
    difference = shown(mean_bpm - baseline.mean)
    z, _, reason = standard_score(mean_bpm, baseline)
    raised = difference > policy.rise_bpm and difference > policy.rise_sd * baseline.sd
    return RestingHeartRate(
        n=len(latest),
        mean_bpm=mean_bpm,
        baseline=baseline,
        difference_bpm=difference,
        z=z,
        raised=raised,
        reason=reason,
    )
