"""Plates on common bars: common practice, no source; the sums are by hand."""

from decimal import Decimal

import pytest

from programs.prescription.plates import load_bar


@pytest.mark.parametrize(
    ("load", "bar", "unit", "per_side", "made"),
    [
        # 225 = 45 + 2 x (45 + 45).
        ("225", "45", "lb", ["45", "45"], "225"),
        # 135 = 45 + 2 x 45.
        ("135", "45", "lb", ["45"], "135"),
        # 100 = 20 + 2 x (25 + 15); 101 asks 0.5 kg more a side, and there is no such plate.
        ("101", "20", "kg", ["25", "15"], "100"),
        # 62.5 = 20 + 2 x (20 + 1.25).
        ("62.5", "20", "kg", ["20", "1.25"], "62.5"),
        # 40 = 15 + 2 x (10 + 2.5).
        ("40", "15", "kg", ["10", "2.5"], "40"),
        # 95 = 35 + 2 x (25 + 5).
        ("95", "35", "lb", ["25", "5"], "95"),
    ],
)
def test_plates_per_side(load, bar, unit, per_side, made):
    loading = load_bar(Decimal(load), bar=Decimal(bar), unit=unit)
    assert loading.per_side == tuple(map(Decimal, per_side))
    assert loading.made == Decimal(made)
