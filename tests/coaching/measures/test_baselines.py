"""A person's own baseline: never of the day judged, and nothing said from too little."""

from datetime import date, timedelta

import pytest

from coaching.measures.baselines import (
    BaselineError,
    DatedValue,
    baseline_before,
    cadence_of,
    daily_means,
    score,
)
from coaching.measures.day_aware_mean import DayAwareMeanError, day_aware_means
from coaching.measures.heart_rate_variability import HeartRateVariabilityError, rmssd_ms, weekly_hrv
from coaching.measures.resting_heart_rate import resting_heart_rate

TODAY = date(2031, 3, 20)


def ago(days: int, value: float) -> DatedValue:
    return DatedValue(TODAY - timedelta(days=days), value)


def daily(*values: float, until: int = 1) -> list[DatedValue]:
    """The last of the values so many days ago, the others on the days before it."""
    return [ago(until + offset, value) for offset, value in enumerate(reversed(values))][::-1]


def test_the_day_itself_is_no_part_of_its_baseline():
    with_today = [*daily(*[3] * 14), ago(0, 7)]
    assert baseline_before(with_today, TODAY) == baseline_before(daily(*[3] * 14), TODAY)


def test_a_daily_baseline_reaches_28_days_back():
    entries = [ago(29, 7), *(ago(days, 3) for days in range(28, 14, -1))]
    found = baseline_before(entries, TODAY)
    assert (found.n, found.mean, found.first) == (14, 3, TODAY - timedelta(days=28))


def test_thirteen_answers_are_too_few():
    found = score(ago(0, 7), daily(*[3] * 13))
    assert (found.z, found.reason, found.baseline.n, found.baseline.needed) == (None, "too_few_entries", 13, 14)


def test_a_scale_that_stood_still_is_divided_by_half_a_point():
    found = score(ago(0, 4), daily(*[3] * 14))
    assert (found.z, found.sd_used, found.baseline.sd) == (2, 0.5, 0)


def test_without_a_floor_a_baseline_without_spread_gives_no_score():
    found = score(ago(0, 4), daily(*[3] * 14), sd_floor=0.0)
    assert (found.z, found.reason) == (None, "zero_variance")


def test_weekly_forms_are_compared_with_the_last_eight_of_which_six_suffice():
    weeks = [ago(7 * week, value) for week, value in zip(range(10, 0, -1), [7, 7, 2, 3, 2, 3, 2, 3, 2, 3], strict=True)]
    assert score(ago(0, 4), weeks, "weekly").baseline.mean == 2.5
    assert score(ago(0, 4), weeks[-6:], "weekly").reason == "known"
    assert score(ago(0, 4), weeks[-5:], "weekly").reason == "too_few_entries"


@pytest.mark.parametrize(
    ("gaps", "cadence"),
    [([], "daily"), ([1, 1, 1], "daily"), ([3, 3, 3], "daily"), ([7, 7, 7], "weekly"), ([7, 14, 1, 7], "weekly")],
)
def test_the_gaps_tell_daily_from_weekly(gaps, cadence):
    days = [TODAY - timedelta(days=sum(gaps[:place])) for place in range(len(gaps) + 1)]
    assert cadence_of(days) == cadence


def test_only_the_latest_gaps_tell():
    weekly_before = [TODAY - timedelta(days=20 + 7 * week) for week in range(20)]
    assert cadence_of([*weekly_before, *(TODAY - timedelta(days=day) for day in range(8))]) == "daily"


def test_several_values_of_a_day_are_averaged_and_two_are_no_series():
    values = [ago(1, 3), ago(0, 2), ago(1, 5)]
    assert daily_means(values) == [ago(1, 4), ago(0, 2)]
    with pytest.raises(BaselineError, match="one day"):
        baseline_before(values, TODAY)


def test_a_week_with_two_hrv_values_says_nothing():
    found = weekly_hrv([*daily(*[60.0, 62.0] * 10, until=7), ago(1, 60), ago(0, 61)], TODAY)
    assert (found.n, found.mean_ln, found.place, found.reason) == (2, None, None, "too_few_entries")


@pytest.mark.parametrize(("week_ms", "place"), [(80, "above_usual"), (61, "usual"), (45, "below_usual")])
def test_both_directions_of_hrv_are_told(week_ms, place):
    found = weekly_hrv([*daily(*[58.0, 64.0] * 10, until=7), *daily(*[week_ms] * 7, until=0)], TODAY)
    assert (found.place, found.reason) == (place, "known")


def test_the_week_is_no_part_of_its_own_hrv_baseline():
    earlier = daily(*[58.0, 64.0] * 10, until=7)
    assert (
        weekly_hrv([*earlier, *daily(*[99.0] * 7, until=0)], TODAY).baseline
        == weekly_hrv([*earlier, *daily(*[30.0] * 7, until=0)], TODAY).baseline
    )


def test_a_failed_reading_of_zero_is_left_out():
    assert weekly_hrv([*daily(0.0, 60.0, 61.0, 62.0, until=0)], TODAY).n == 3


def test_rmssd_needs_three_intervals():
    with pytest.raises(HeartRateVariabilityError):
        rmssd_ms([800, 810])


@pytest.mark.parametrize(
    ("latest", "raised"),
    [([58, 58, 58], True), ([55, 55, 55], False), ([50, 58, 59], True), ([45, 46, 44], False)],
)
def test_a_resting_heart_rate_is_raised_by_over_five_beats_and_an_own_sd(latest, raised):
    found = resting_heart_rate([*daily(*[49, 51] * 14, until=3), *daily(*latest, until=0)], TODAY)
    assert (found.raised, found.baseline.mean, found.reason) == (raised, 50, "known")


def test_six_beats_within_the_own_spread_are_not_raised():
    found = resting_heart_rate([*daily(*[42, 58] * 14, until=3), *daily(56, 56, 56, until=0)], TODAY)
    assert (found.difference_bpm, found.raised) == (6, False)


def test_one_value_of_three_days_says_nothing():
    found = resting_heart_rate([*daily(*[49, 51] * 14, until=3), ago(0, 70)], TODAY)
    assert (found.n, found.raised, found.reason) == (1, None, "too_few_entries")


def test_weigh_ins_stand_in_order():
    with pytest.raises(DayAwareMeanError, match="does not come after"):
        day_aware_means([ago(0, 80), ago(1, 81)], 0.1)
    with pytest.raises(DayAwareMeanError, match="weight"):
        day_aware_means([ago(0, 80)], 0)
