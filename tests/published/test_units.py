"""The pound: 1959 agreement and NIST SP 811, read in several agreeing pages; checked against pint, exact."""

from decimal import Decimal

import pint
import pytest

from coaching.measures.load import KG_PER_LB, kg_to_lb, lb_to_kg


def test_the_pound_is_the_agreed_number():
    assert Decimal("0.45359237") == KG_PER_LB


@pytest.mark.parametrize(
    ("value_lb", "expected_kg"),
    # Computed with decimal arithmetic from the definition.
    [("225", "102.05828325"), ("45", "20.41165665"), ("1", "0.45359237")],
)
def test_pounds_in_kilograms(value_lb, expected_kg):
    assert lb_to_kg(Decimal(value_lb)) == Decimal(expected_kg)


@pytest.mark.parametrize(
    ("value_kg", "expected_lb"),
    # The reciprocal of the definition, by long division: 1 / 0.45359237 = 2.2046226218487758...
    [("100", "220.46226218487758"), ("20", "44.0924524")],
)
def test_kilograms_in_pounds(value_kg, expected_lb):
    assert str(kg_to_lb(Decimal(value_kg))).startswith(expected_lb)


@pytest.mark.parametrize("value_lb", ["2.5", "45", "225", "315", "0.25", "-20"])
def test_pint_with_decimals_agrees(value_lb):
    registry = pint.UnitRegistry(non_int_type=Decimal)
    assert registry.Quantity(Decimal(value_lb), "pound").to("kilogram").magnitude == lb_to_kg(Decimal(value_lb))
