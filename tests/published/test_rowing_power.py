"""Pace and power of a rowing machine: W = 2.80 / p^3, p in seconds a metre (trade fact, several agreeing pages).

The values were reckoned from the formula, by hand and beside the code.
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from programs.prescription.conditioning import conditioning
from programs.prescription.rowing_pace import power_w, split_s
from programs.prescription.timeline import simulate
from tests.programs.prescription.cast import ROWER, block, session, slot

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


def test_a_rowing_piece_is_timed_at_the_pace_whose_power_is_told():
    # 0.25 s a metre is a split of 2:05, and 2.80 / 0.25 ** 3 = 179.2 W; 2,000 m then take 500 s.
    written = session(block("rounds_for_time", slot("A", "rowing-machine", {"distance_m": 2000}), rounds=1))
    known = {"rowing-machine": replace(ROWER, station="rowing_machine")}
    timeline = simulate(written, known)
    assert timeline.high_s == 500
    ((piece,),) = (found.rowing for found in conditioning(written, timeline, known))
    assert (piece.split_s, piece.power_w) == (125, Decimal("179.20"))


def test_uneven_rowing_has_more_power_than_its_average_pace_tells():
    # 1:45 and 2:15 average to 2:00: (302.34 + 142.25) / 2 = 222.3 W against 202.55 W.
    mean_w = (power_w(Decimal(105)) + power_w(Decimal(135))) / 2
    assert mean_w == pytest.approx(Decimal("222.3"), abs=Decimal("0.1"))
    assert mean_w > power_w(Decimal(120))


@pytest.mark.parametrize("wrong", ["0", "-5"])
def test_no_pace_and_no_power_are_refused(wrong):
    with pytest.raises(ValueError, match="above zero"):
        power_w(Decimal(wrong))
    with pytest.raises(ValueError, match="above zero"):
        split_s(Decimal(wrong))
