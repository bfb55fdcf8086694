"""Pace and power of a rowing machine: W = 2.80 / p^3, p in seconds a metre (trade fact, several agreeing pages).

The values were reckoned from the formula, by hand and beside the code.
"""

from decimal import Decimal

import pytest

from programs.prescription.rowing_pace import power_w, split_s

SPLIT_S_TO_W = [("105", "302.34"), ("120", "202.55"), ("150", "103.70")]
W_TO_SPLIT_S = [("100", "151.83"), ("200", "120.51"), ("300", "105.27")]


@pytest.mark.parametrize(("split", "watts"), SPLIT_S_TO_W)
def test_a_split_has_its_power(split, watts):
    assert power_w(Decimal(split)) == pytest.approx(Decimal(watts), abs=Decimal("0.011"))


@pytest.mark.parametrize(("watts", "split"), W_TO_SPLIT_S)
def test_a_power_has_its_split(watts, split):
    assert split_s(Decimal(watts)) == pytest.approx(Decimal(split), abs=Decimal("0.006"))


def test_twice_the_pace_is_eight_times_the_power():
    assert power_w(Decimal(60)) / power_w(Decimal(120)) == pytest.approx(Decimal(8), rel=Decimal("0.0001"))


@pytest.mark.parametrize("wrong", ["0", "-5"])
def test_no_pace_and_no_power_are_refused(wrong):
    with pytest.raises(ValueError, match="above zero"):
        power_w(Decimal(wrong))
    with pytest.raises(ValueError, match="above zero"):
        split_s(Decimal(wrong))
