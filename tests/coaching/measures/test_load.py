from decimal import Decimal, localcontext

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coaching.measures.load import KG_PER_LB, Load, LoadError, entered_load, kg_to_lb, lb_to_kg


def test_a_load_is_kept_as_entered_and_known_in_kilograms():
    load = Load(Decimal(225), "lb")
    assert (load.value, load.unit, load.kg, load.lb) == (
        Decimal(225),
        "lb",
        Decimal("102.05828325"),
        Decimal(225),
    )


def test_assistance_is_a_negative_load():
    assert Load(Decimal(-20), "lb").kg == Decimal("-9.0718474")


def test_the_callers_decimal_context_does_not_round_a_load():
    with localcontext(prec=3):
        assert lb_to_kg(Decimal(225)) == Decimal("102.05828325")
        assert str(kg_to_lb(Decimal(100))).startswith("220.4622621848775")


@given(st.decimals(min_value=-2000, max_value=2000, places=4))
@settings(max_examples=100)
def test_pounds_to_kilograms_loses_nothing(value_lb):
    kg = lb_to_kg(value_lb)
    assert kg.as_integer_ratio() == (value_lb * KG_PER_LB).as_integer_ratio()


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (Decimal("NaN"), "kg", "finite number"),
        (Decimal("Infinity"), "lb", "finite number"),
        (Decimal("1E+400000"), "kg", "too large"),
        (Decimal(100_000), "lb", "too large"),
        (Decimal("0." + "1" * 70), "lb", "too many digits"),
        (Decimal(80), "stone", "kg or lb"),
    ],
)
def test_what_is_no_load_is_refused_with_what_to_change(value, unit, words):
    with pytest.raises(LoadError, match=words):
        Load(value, unit)


def test_a_load_is_posted_in_one_unit_only():
    assert entered_load(load_kg=Decimal(80), load_lb=None) == Load(Decimal(80), "kg")
    assert entered_load(load_kg=None, load_lb=Decimal(0)) == Load(Decimal(0), "lb")
    assert entered_load(load_kg=None, load_lb=None) is None
    with pytest.raises(LoadError, match="not as both"):
        entered_load(load_kg=Decimal(80), load_lb=Decimal(176))
