"""Monotony and strain: Foster 1998 Med Sci Sports Exerc 30:1164-1168 (abstract).

Which SD is meant is not stated there and no worked example with numbers was found, so the values below are computed
(acwr 0.1.1 agrees); that the sample SD is the default is this project's choice. Exponential weighting: Williams et
al. 2017 Br J Sports Med 51:209-210, equal to pandas' ewm(span=N, adjust=False).
"""

from decimal import Decimal

import acwr
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from logs.analysis.session_load import ewma, monotony, session_load, strain

# 6 x 60 min, rest, 7 x 50, rest, 5 x 40, 8 x 75, rest.
WEEK = [360, 0, 350, 0, 200, 600, 0]


def test_a_weeks_loads_are_rating_times_minutes():
    pairs = [("6", "60"), ("0", "0"), ("7", "50"), ("0", "0"), ("5", "40"), ("8", "75"), ("0", "0")]
    assert [session_load(Decimal(rpe), Decimal(minutes)) for rpe, minutes in pairs] == WEEK


@pytest.mark.parametrize(
    ("sd_kind", "expected_monotony", "expected_strain"),
    [("sample", 0.92491, 1396.61), ("population", 0.99901, 1508.51)],
)
def test_monotony_and_strain_of_a_week(sd_kind, expected_monotony, expected_strain):
    assert monotony(WEEK, sd_kind).value == pytest.approx(expected_monotony, abs=0.000005)
    assert strain(WEEK, sd_kind).value == pytest.approx(expected_strain, abs=0.005)


@pytest.mark.parametrize(("sd_kind", "expected"), [("sample", 0.37796), ("population", 0.40825)])
def test_one_session_in_a_week_has_the_same_monotony_whatever_its_load(sd_kind, expected):
    assert monotony([0, 0, 480, 0, 0, 0, 0], sd_kind).value == pytest.approx(expected, abs=0.000005)
    assert monotony([55, 0, 0, 0, 0, 0, 0], sd_kind).value == pytest.approx(expected, abs=0.000005)


@given(st.lists(st.integers(0, 1200), min_size=7, max_size=7))
@settings(max_examples=60)
def test_acwr_agrees_on_any_week(week):
    assume(len(set(week)) > 1)
    series = pd.Series(week, index=pd.date_range("2031-03-03", periods=7), dtype=float)
    assert monotony(week).value == pytest.approx(_last(acwr.monotony(series, ddof=1)), rel=1e-9)
    assert strain(week).value == pytest.approx(_last(acwr.strain(series, ddof=1)), rel=1e-9)


def test_the_reference_librarys_documented_week():
    # acwr 0.1.1, docstring of `monotony`.
    assert monotony([0, 80, 40, 0, 90, 60, 80]).value == pytest.approx(1.321, abs=0.0005)


def _last(result):
    return float(result.iloc[-1]) if hasattr(result, "iloc") else float(result)


def test_exponential_weighting_of_seven_days():
    expected = [100, 75, 56.25, 92.1875, 69.140625, 89.355469, 67.016602]
    assert ewma([100, 0, 0, 200, 0, 150, 0], 7) == pytest.approx(expected, abs=0.0000005)
    assert ewma([100, 0, 0, 200, 0, 150, 0], 28)[-1] == pytest.approx(85.895062, abs=0.0000005)


def test_exponential_weighting_after_a_doubling():
    days = [50.0] * 28 + [100.0] * 7
    assert ewma(days, 7)[-1] == pytest.approx(93.3258, abs=0.00005)
    assert ewma(days, 28)[-1] == pytest.approx(69.6799, abs=0.00005)


@given(st.lists(st.floats(0, 2000), min_size=1, max_size=40), st.sampled_from([7, 28]))
@settings(max_examples=60)
def test_pandas_agrees_on_any_days(days, span_days):
    expected = pd.Series(days).ewm(span=span_days, adjust=False).mean().tolist()
    assert ewma(days, span_days) == pytest.approx(expected, rel=1e-9, abs=1e-9)
