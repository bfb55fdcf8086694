from datetime import date, timedelta
from decimal import Decimal

import pytest

from logs.analysis.side_differences import side_difference


def weekly(*values):
    return {date(2031, 3, 3) + timedelta(days=7 * week): Decimal(value) for week, value in enumerate(values) if value}


def test_a_difference_within_noise_says_that_it_is():
    found = side_difference(weekly(42, 41, 43, 42), weekly(40, 40, 41, 39))
    assert (found.n, found.left_kg, found.right_kg, found.exceeds_noise) == (4, Decimal(42), Decimal(40), False)
    assert found.difference_pct == pytest.approx(2 / 41 * 100)
    assert found.noise_pct == pytest.approx(5.82, abs=0.005)
    assert found.sentence == (
        "The left is 4.9 % stronger over 4 weeks: within noise, which reaches to 5.8 % with so many."
    )
    assert "means nothing" in found.caution


def test_the_stronger_side_is_named():
    assert side_difference(weekly(30), weekly(40)).sentence.startswith("The right is 28.6 % stronger over 1 week: more")


def test_only_weeks_of_both_sides_are_compared():
    assert side_difference(weekly(40, 0, 44), weekly(0, 40, 44)).n == 1


def test_one_side_alone_has_no_difference():
    found = side_difference(weekly(40), {})
    assert (found.n, found.reason, found.exceeds_noise) == (0, "one_side_only", None)


def test_without_a_bodyweight_added_loads_have_no_percents():
    found = side_difference(weekly(5), weekly(3), None)
    assert (found.difference_kg, found.difference_pct, found.reason) == (Decimal(2), None, "no_level")
    assert side_difference(weekly(5), weekly(3), Decimal(60)).difference_pct == pytest.approx(2 / 64 * 100)
