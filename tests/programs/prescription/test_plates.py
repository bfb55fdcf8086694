"""Plates per side."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.prescription.plates import bar_loadings, load_bar

SMALLEST = {"kg": Decimal("1.25"), "lb": Decimal("2.5")}


@given(
    hundredths=st.integers(min_value=0, max_value=100_000), unit=st.sampled_from(["kg", "lb"]), place=st.integers(0, 1)
)
def test_bar_and_plates_make_the_nearest_load_below(hundredths: int, unit: Any, place: int) -> None:
    bar = {"kg": (20, 15), "lb": (45, 35)}[unit][place]
    load = Decimal(hundredths) / 100 + bar
    loading = load_bar(load, bar=Decimal(bar), unit=unit)
    assert loading.bar + 2 * sum(loading.per_side) == loading.made
    assert loading.made + loading.left_over == load
    assert 0 <= loading.left_over < 2 * SMALLEST[unit]
    assert list(loading.per_side) == sorted(loading.per_side, reverse=True)


def test_a_bare_bar_carries_nothing() -> None:
    assert load_bar(Decimal(20), bar=Decimal(20), unit="kg").per_side == ()


def test_less_than_the_bar_is_refused() -> None:
    with pytest.raises(ValueError, match="less than the empty bar of 20 kg"):
        load_bar(Decimal(19), bar=Decimal(20), unit="kg")


@pytest.mark.parametrize(("load", "bars"), [("60", [20, 15]), ("17.5", [15]), ("10", [])])
def test_only_bars_that_are_light_enough_are_offered(load: str, bars: list[int]) -> None:
    assert [loading.bar for loading in bar_loadings(Decimal(load), "kg")] == bars
