"""Bodyweight: how a gap is treated changes the smoothed value, and a rate is a median of slopes.

The values of the four policies are computed with pandas 3.1; the rate and its interval are those of
scipy.stats.theilslopes (y first, alpha 0.90). That day-aware weighting is taken is this project's choice.
"""

from datetime import date, timedelta

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import theilslopes

from coaching.measures.baselines import DatedValue
from coaching.measures.day_aware_mean import day_aware_means
from logs.analysis.bodyweight_trend import bodyweight_trend

DAY = date(2031, 3, 1)
SERIES = [82.0, 82.6, 81.8, 82.2, None, 81.5, 82.4, 81.9]


def dated(values):
    return [DatedValue(DAY + timedelta(days=day), value) for day, value in enumerate(values) if value is not None]


def test_a_missing_day_makes_the_next_weigh_in_count_for_more():
    assert day_aware_means(dated(SERIES), 0.1)[-1] == pytest.approx(81.98225, abs=0.000005)


def test_the_other_ways_to_treat_the_gap_give_other_values():
    series = pd.Series(SERIES, dtype=float)
    held = series.ewm(alpha=0.1, adjust=False, ignore_na=True).mean().iloc[-1]
    default = series.ewm(alpha=0.1, adjust=False).mean().iloc[-1]
    assert held == pytest.approx(82.02239, abs=0.000005)
    assert default == pytest.approx(82.01798, abs=0.000005)


@given(st.lists(st.floats(40, 150), min_size=1, max_size=60))
@settings(max_examples=60)
def test_pandas_agrees_where_no_day_is_missing(values):
    expected = pd.Series(values).ewm(alpha=0.1, adjust=False).mean().tolist()
    assert day_aware_means(dated(values), 0.1) == pytest.approx(expected, rel=1e-9)


@given(st.lists(st.none() | st.floats(60, 100).map(lambda kg: round(kg, 1)), min_size=21, max_size=21))
@settings(max_examples=80)
def test_scipy_agrees_on_any_three_weeks(values):
    entries = dated(values)
    found = bodyweight_trend(entries, DAY + timedelta(days=20))
    if len(entries) < 8:
        assert found.kg_per_week is None
        return
    slope, _, low, high = theilslopes(
        [one.value for one in entries], [one.local_date.toordinal() for one in entries], 0.90
    )
    expected = [7 * one for one in (slope, low, high)]
    assert [found.kg_per_week, found.low_kg_per_week, found.high_kg_per_week] == pytest.approx(expected, abs=0.000001)
