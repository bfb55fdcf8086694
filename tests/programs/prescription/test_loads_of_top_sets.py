"""Loads that hang on the day's top set, once it is lifted."""

from decimal import Decimal

import pytest

from programs.prescription.loads import resolve_of_top
from programs.prescription.prescribed_loads import AbsoluteLoad, RelativeToTopLoad


@pytest.mark.parametrize(
    ("pct", "top", "load", "sentence"),
    [
        # 100 x 0.9 = 90, a whole number of 2.5 kg steps.
        ("-10", "100", "90", "10 % under today's top set, 100 kg."),
        # 101 x 0.85 = 85.85.
        ("-15", "101", "85", "15 % under today's top set, 101 kg. Rounded down to 85 kg."),
        ("5", "100", "105", "5 % over today's top set, 100 kg."),
        ("0", "100", "100", "As today's top set, 100 kg."),
    ],
)
def test_a_share_of_the_top_set_is_rounded_down_to_plates(pct: str, top: str, load: str, sentence: str) -> None:
    found = resolve_of_top(RelativeToTopLoad(pct=Decimal(pct)), AbsoluteLoad(value=Decimal(top)), loading="barbell")
    assert (found.status, found.load_kg, found.from_what) == ("resolved", Decimal(load), sentence)


@pytest.mark.parametrize("top", ["0", "-20"])
def test_of_bodyweight_alone_and_of_help_no_percentage_is_taken(top: str) -> None:
    found = resolve_of_top(RelativeToTopLoad(pct=Decimal(-10)), AbsoluteLoad(value=Decimal(top)), loading="bodyweight")
    assert (found.status, found.load) == ("on_the_day", None)


def test_less_than_the_empty_bar_can_not_be_loaded() -> None:
    found = resolve_of_top(RelativeToTopLoad(pct=Decimal(-50)), AbsoluteLoad(value=Decimal(30)), loading="barbell")
    assert (found.status, found.load) == ("not_loadable", None)
    assert found.from_what.endswith("less than the empty bar of 20 kg.")
