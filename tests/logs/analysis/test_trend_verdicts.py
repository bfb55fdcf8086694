import pytest

from logs.analysis.trend import Slope, theil_sen
from logs.analysis.trend_verdicts import TrendPolicy, level_kg, trend_of, verdict

RISING = [100, 101.5, 100.8, 102.9, 102.1, 103.6, 103.0, 104.8]


def weekly(values, **more):
    return trend_of(theil_sen([7 * week for week in range(len(values))], values), **more)


def slope(per_week, half, n=10, level=100.0):
    per_day, half_day = per_week / 7, half / 7
    return Slope(per_day=per_day, low=per_day - half_day, high=per_day + half_day, n=n, level=level)


def test_improvement_is_told_with_slope_interval_and_count():
    trend = weekly(RISING)
    assert trend.verdict == "improving"
    assert trend.pct_per_week == pytest.approx(0.55 / 102.5 * 100)
    assert trend.sentence == (
        "Improving: +0.54 % (90 % interval +0.34 to +0.88) a week, from 8 weekly values; the interval leaves out 0."
    )


def test_decline_is_told():
    assert weekly(RISING[::-1]).verdict == "declining"


def test_under_six_weeks_nothing_is_told_however_steep():
    trend = weekly([100, 110, 120, 130, 140])
    assert (trend.verdict, trend.weeks_more, trend.weeks_more_reason) == ("not_enough_data", 1, "known")
    assert trend.sentence == "5 weekly values: under 6 no trend is told; 1 week to go."


def test_no_clear_direction_is_no_plateau():
    trend = trend_of(slope(0.2, 1.0))
    assert trend.verdict == "undecided"
    assert "which is no plateau" in trend.sentence


def test_a_plateau_lies_wholly_inside_what_the_business_calls_negligible():
    assert trend_of(slope(0.1, 0.3)).verdict == "plateau"
    assert trend_of(slope(0.1, 0.3), policy=TrendPolicy(negligible_pct_per_week=0.3)).verdict == "undecided"
    assert verdict(low=-0.5, high=0.4, n=12) == "undecided"


def test_an_end_on_nought_leaves_it_in():
    assert verdict(low=0.0, high=2.0, n=12) == "undecided"
    assert verdict(low=-2.0, high=0.0, n=12) == "undecided"


@pytest.mark.parametrize(
    ("per_week", "half", "more"),
    # The half-width must shrink from 1.0 to the slope, or to what the slope leaves of 0.5: n (1 / that) ^ (2/3).
    [(0.8, 1.0, 2), (0.4, 1.0, 9), (0.0, 1.0, 6), (0.1, 1.0, 9)],
)
def test_the_weeks_to_wait_follow_from_slope_and_noise(per_week, half, more):
    trend = trend_of(slope(per_week, half))
    assert (trend.verdict, trend.weeks_more, trend.weeks_more_reason) == ("undecided", more, "known")
    assert f"about {more} weeks more" in trend.sentence


def test_over_a_year_no_number_is_told():
    trend = trend_of(slope(0.25, 9.0, n=12))
    assert (trend.weeks_more, trend.weeks_more_reason) == (None, "over_52_weeks")
    assert "more than a year more" in trend.sentence


def test_an_added_load_is_measured_against_the_body_that_moves_with_it():
    plain, with_body = slope(0.5, 0.1, level=10.0), 80.0
    assert trend_of(plain, body_kg=with_body).pct_per_week == pytest.approx(0.5 / 90 * 100)


def test_without_a_bodyweight_the_sign_is_told_and_no_plateau():
    assert trend_of(slope(0.5, 0.1, level=10.0), body_kg=None).verdict == "improving"
    flat = trend_of(slope(0.0, 0.01, level=10.0), body_kg=None)
    assert (flat.verdict, flat.weeks_more, flat.weeks_more_reason) == ("undecided", None, "no_level")
    assert "kg" in flat.sentence
    assert flat.sentence.endswith("percents can't be told without a bodyweight.")


def test_a_level_of_nought_or_less_has_no_percents():
    assert level_kg(-10.0, 0.0) is None
    assert level_kg(-10.0, 80.0) == 70.0


def test_without_percents_the_figures_are_in_the_clients_unit():
    trend = trend_of(slope(0.45359237, 0.1, level=10.0), body_kg=None, unit="lb")
    assert trend.sentence.startswith("Improving: +1.00 lb (90 % interval +0.78 to +1.22) a week")
    assert trend.kg_per_week == pytest.approx(0.45359237)
