"""Weekly load and the ratio of two weighted means, as the service gives them (values computed; acwr 0.1.1 agrees).

Sources: Foster 1998 Med Sci Sports Exerc 30:1164-1168; Williams et al. 2017 Br J Sports Med 51:209-210.
"""

from datetime import date
from decimal import Decimal

import acwr
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from logs.analysis.training_load import load_span
from logs.analysis.weighted_load import weighted_load
from tests.logs.analysis.test_training_load import days


def test_the_week_of_the_worked_example():
    found = load_span(days(360, 0, 350, 0, 200, 600, 0))
    assert found.total == 1510
    assert found.monotony == pytest.approx(Decimal("0.92491"), abs=Decimal("0.000005"))
    assert found.strain == pytest.approx(Decimal("1396.61"), abs=Decimal("0.005"))


def test_a_week_of_like_days_has_no_monotony_and_one_session_always_the_same():
    assert (load_span(days(*[300] * 7)).monotony, load_span(days(*[300] * 7)).reason) == (None, "zero_variance")
    assert load_span(days(*[0] * 7)).reason == "all_rest"
    assert load_span(days(0, 0, 480, 0, 0, 0, 0)).monotony == pytest.approx(Decimal("0.37796"), abs=Decimal("0.00001"))


def test_the_ratio_after_a_doubling():
    found = weighted_load(days(*[50] * 28, *[100] * 7))
    assert found.ratio == pytest.approx(1.33935, abs=0.000005)
    assert (found.acute, found.chronic) == pytest.approx((93.3258, 69.6799), abs=0.00005)


@given(st.lists(st.integers(0, 900), min_size=28, max_size=70))
@settings(max_examples=40)
def test_acwr_and_pandas_agree_on_any_days(loads):
    assume(any(loads))
    series = pd.Series(loads, index=pd.date_range(date(2031, 3, 3), periods=len(loads)), dtype=float)
    found = weighted_load(days(*loads))
    assert found.acute == pytest.approx(series.ewm(span=7, adjust=False).mean().iloc[-1], rel=1e-9, abs=1e-9)
    assert found.chronic == pytest.approx(series.ewm(span=28, adjust=False).mean().iloc[-1], rel=1e-9, abs=1e-9)
    assert found.ratio == pytest.approx(float(acwr.acwr(series, method="ewma").iloc[-1]), rel=1e-9, abs=1e-9)
