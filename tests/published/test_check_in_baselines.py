"""Check-ins: standard scores, the four scales' sum, heart rate variability.

The scale of four items from 1 to 7 and its sum: Hooper and Mackinnon 1995 Med Sci Sports Exerc 27:106-112 (secondary
pages; items and sum confirmed in Moalla et al. 2016). Standard scores, RMSSD and its logarithm are computed from their
definitions (numpy agrees); the band of half an SD is Plews et al. 2012 and 2013, from memory.
"""

from datetime import date, timedelta
from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coaching.measures.baselines import DatedValue, baseline_before, score
from coaching.measures.heart_rate_variability import ln_rmssd, rmssd_ms, weekly_hrv
from logs.analysis.check_in_scales import CheckInEntry, wellness_sum

DAY = date(2031, 3, 20)
SUMS = [10, 11, 9, 12, 10, 11, 10, 9, 11, 12, 10, 11, 9, 10]
WEEK_MS = [62, 58, 65, 60, 71, 55, 63]


def before(values, day=DAY):
    first = day - timedelta(days=len(values))
    return [DatedValue(first + timedelta(days=offset), value) for offset, value in enumerate(values)]


def test_a_fortnight_of_sums_has_its_mean_and_sample_sd():
    baseline = baseline_before(before(SUMS), DAY)
    assert baseline.mean == pytest.approx(10.35714, abs=0.000005)
    assert baseline.sd == pytest.approx(1.00821, abs=0.000005)


@pytest.mark.parametrize(("value", "z"), [(10, -0.354), (13, 2.621), (16, 5.597)])
def test_a_sum_against_that_fortnight(value, z):
    assert score(DatedValue(DAY, value), before(SUMS)).z == pytest.approx(z, abs=0.0005)


def test_the_four_scales_are_added_up():
    entry = CheckInEntry(local_date=DAY, sleep=3, fatigue=4, stress=4, soreness=2)
    assert wellness_sum(entry) == 13
    assert wellness_sum(CheckInEntry(local_date=DAY, sleep=1, fatigue=1, stress=1, soreness=1)) == 4
    assert wellness_sum(CheckInEntry(local_date=DAY, sleep=7, fatigue=7, stress=7, soreness=7)) == 28
    assert wellness_sum(CheckInEntry(local_date=DAY, sleep=3, fatigue=4, stress=4)) is None


def test_rmssd_of_six_intervals():
    found = rmssd_ms([800, 810, 790, 805, 795, 820])
    assert found == pytest.approx(17.02939, abs=0.000005)
    assert ln_rmssd(found) == pytest.approx(2.83494, abs=0.000005)


def test_a_week_of_rmssd_as_the_baseline_of_the_next():
    # A baseline needs 14 values: the same week twice has the same mean, and an SD of n - 1 over 14.
    values = before(WEEK_MS * 2 + WEEK_MS, DAY + timedelta(days=1))
    found = weekly_hrv(values, DAY)
    assert found.mean_ln == pytest.approx(4.12421, abs=0.000005)
    assert found.mean_ms == pytest.approx(61.819, abs=0.0005)
    logs = np.log(WEEK_MS)
    assert np.std(logs, ddof=1) == pytest.approx(0.08234, abs=0.000005)
    sd = np.std(np.concatenate([logs, logs]), ddof=1)
    assert found.baseline.sd == pytest.approx(sd, abs=0.000001)
    assert found.high_ln - found.mean_ln == pytest.approx(0.5 * sd, abs=0.000002)
    assert found.place == "usual"


def test_half_an_sd_of_that_week():
    baseline = baseline_before([DatedValue(day, log(ms)) for day, ms in before(WEEK_MS)], DAY, "weekly")
    assert baseline.mean == pytest.approx(4.12421, abs=0.000005)
    assert 0.5 * baseline.sd == pytest.approx(0.04117, abs=0.000005)
    assert 100 * baseline.sd / baseline.mean == pytest.approx(1.9964, abs=0.00015)
    assert exp(baseline.mean) == pytest.approx(61.819, abs=0.0005)


@given(st.lists(st.integers(1, 7), min_size=14, max_size=28), st.integers(1, 7))
@settings(max_examples=60)
def test_numpy_agrees_on_any_score(values, value):
    found = score(DatedValue(DAY, value), before(values))
    sd = max(float(np.std(values, ddof=1)), 0.5)
    assert found.z == pytest.approx((value - float(np.mean(values))) / sd, abs=0.00001)
