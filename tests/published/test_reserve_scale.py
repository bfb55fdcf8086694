"""Exertion by repetitions in reserve: Zourdos et al. 2016 J Strength Cond Res 30:267-275.

"10 = 0 in reserve, 9 = 1, and so forth" was read in the abstract; the half rows are from memory.
"""

from decimal import Decimal

import pytest

from logs.analysis.strength import reserve_from_rpe


@pytest.mark.parametrize(("rpe", "in_reserve"), [("10", "0"), ("9", "1"), ("8", "2"), ("7", "3")])
def test_whole_ratings(rpe, in_reserve):
    assert reserve_from_rpe(Decimal(rpe)) == Decimal(in_reserve)


@pytest.mark.parametrize(("rpe", "in_reserve"), [("9.5", "0"), ("8.5", "1.5"), ("7.5", "2.5")])
def test_half_ratings_from_memory(rpe, in_reserve):
    assert reserve_from_rpe(Decimal(rpe)) == Decimal(in_reserve)


@pytest.mark.parametrize("rpe", ["6.5", "6", "5", "1", "0"])
def test_lower_ratings_tell_no_reserve_good_enough_for_an_estimate(rpe):
    assert reserve_from_rpe(Decimal(rpe)) is None
