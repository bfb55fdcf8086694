"""Trends of many lines at once equal scipy's, line by line, with gaps, ties and outliers."""

import warnings

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.stats import theilslopes

from logs.analysis.trend import theil_sen, theil_sen_lines
from logs.analysis.trend_verdicts import VERDICTS, TrendPolicy, trend_of, verdict

# Whole and half kilograms tie often; one in a hundred is mad.
VALUES = st.one_of(
    st.integers(180, 220).map(lambda half: half / 2),
    st.floats(80, 120, allow_nan=False),
    st.sampled_from([np.nan, np.nan, -400.0, 0.0, 1e6]),
)


def matrices(lines=6, columns=14):
    shapes = st.tuples(st.integers(1, lines), st.integers(1, columns))
    return shapes.flatmap(lambda shape: arrays(np.float64, shape, elements=VALUES))


def reference(days, values):
    kept = ~np.isnan(values)
    if kept.sum() < 2:
        return [np.nan] * 3
    with warnings.catch_warnings():
        # All on one day, or more ties than variance: scipy warns and gives NaN, as is wanted.
        warnings.simplefilter("ignore", RuntimeWarning)
        found = theilslopes(values[kept], days[kept], 0.90)
    return [found.slope, found.low_slope, found.high_slope]


def assert_equal_to_scipy(days, values):
    found = theil_sen_lines(days, values)
    ours = np.column_stack([found.per_day, found.low, found.high])
    theirs = np.array([reference(days if days.ndim == 1 else days[row], line) for row, line in enumerate(values)])
    np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-9)
    np.testing.assert_array_equal(found.n, (~np.isnan(values)).sum(axis=1))


@given(st.data(), matrices())
@settings(max_examples=200, deadline=None)
def test_many_lines_on_shared_dates_equal_scipy(data, values):
    columns = values.shape[1]
    gaps = data.draw(st.lists(st.integers(1, 60), min_size=columns, max_size=columns))
    assert_equal_to_scipy(737_000.0 + np.cumsum(gaps), values)


@given(st.data(), matrices())
@settings(max_examples=150, deadline=None)
def test_each_line_on_its_own_dates_equals_scipy_also_with_two_values_on_a_day(data, values):
    days = data.draw(arrays(np.float64, values.shape, elements=st.integers(0, 40).map(float)))
    assert_equal_to_scipy(days, values)


@given(matrices(lines=40, columns=8))
@settings(max_examples=25, deadline=None)
def test_a_line_has_the_same_trend_alone_as_among_others(values):
    days = np.arange(values.shape[1]) * 7.0
    together = theil_sen_lines(days, values)
    for row, line in enumerate(values):
        alone = theil_sen(list(days), list(line))
        for name in ("per_day", "low", "high", "level"):
            figure = getattr(together, name)[row]
            assert getattr(alone, name) == (None if np.isnan(figure) else figure)


def test_more_lines_than_fit_at_once_are_fitted_in_parts():
    rng = np.random.default_rng(7)
    values = rng.normal(100, 4, (4_000, 20))
    values[rng.random(values.shape) < 0.3] = np.nan
    found = theil_sen_lines(np.arange(20) * 7.0, values)
    for row in (0, 2_630, 2_631, 2_632, 3_999):
        assert theil_sen(list(np.arange(20) * 7.0), list(values[row])).low == found.low[row]


@given(st.floats(-3, 3), st.floats(0, 3), st.integers(6, 40), st.floats(0.05, 2))
def test_a_verdict_is_what_its_interval_shows_and_never_two(low, width, n, bound):
    high = low + width
    shown = verdict(low=low, high=high, n=n, policy=TrendPolicy(negligible_pct_per_week=bound))
    assert (shown == "improving") == (low > 0)
    assert (shown == "declining") == (high < 0)
    assert (shown == "plateau") == (low <= 0 <= high and -bound < low and high < bound)
    assert shown in VERDICTS


@given(arrays(np.float64, st.integers(6, 26), elements=st.floats(60, 140)))
@settings(max_examples=100, deadline=None)
def test_only_what_is_undecided_is_told_to_wait_and_never_over_a_year(values):
    trend = trend_of(theil_sen([7.0 * week for week in range(len(values))], list(values)))
    assert (trend.weeks_more_reason == "decided") == (trend.verdict != "undecided")
    assert trend.weeks_more is None or 1 <= trend.weeks_more <= 52
