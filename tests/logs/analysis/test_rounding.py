from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logs.analysis.rounding import clock_minutes, round_half_even_6, square_root


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (Decimal("0.0000005"), "0.000000"),
        (Decimal("0.0000015"), "0.000002"),
        (Decimal("0.0000025"), "0.000002"),
        (Decimal("-0.0000015"), "-0.000002"),
        (Decimal(7), "7.000000"),
        (Fraction(1, 3), "0.333333"),
        (Fraction(2, 3), "0.666667"),
        # A hair over a tie, which a division to 28 digits would have made a tie.
        (Fraction(1, 2_000_000) + Fraction(1, 10**40), "0.000001"),
        (Decimal("123456789012345678901234567890.1234565"), "123456789012345678901234567890.123456"),
    ],
)
def test_half_goes_to_even_at_the_sixth_place(value, expected):
    assert str(round_half_even_6(value)) == expected


@given(st.fractions(min_value=-10_000, max_value=10_000, max_denominator=9999))
@settings(max_examples=100)
def test_no_rounding_is_off_by_more_than_half_a_millionth(value):
    assert abs(Fraction(round_half_even_6(value)) - value) <= Fraction(1, 2_000_000)


def test_minutes_on_the_clock_have_two_places():
    assert str(clock_minutes(Decimal(2765))) == "46.08"
    assert str(clock_minutes(Fraction("0.3"))) == "0.00"
    assert str(clock_minutes(Fraction("0.9"))) == "0.02"


def test_a_root_is_taken_to_more_digits_than_are_kept():
    assert str(square_root(Fraction(2))).startswith("1.41421356237309504880168872420969807856967")
    assert square_root(Fraction(9, 4)) == Decimal("1.5")
