"""The rule's power, simulated by the service's own code beside a table computed beforehand by another program.

Both are simulations of 2,000 lines a cell: their difference has a standard error of root (2 p (1 - p) / 2000), and the
table is rounded to two places. 54 shares are held at 4 such errors, with p kept off 0 and 1 by one line in 2,000.
"""

from math import sqrt

import pytest

from logs.analysis.trend_power import REFERENCE, simulated_shares

LINES = 2_000
ROUNDING = 0.005


def cells():
    return [pytest.param(cell, id=f"{cell.noise_pct}-{cell.weeks}-{cell.slope_pct_per_week}") for cell in REFERENCE]


@pytest.mark.parametrize("cell", cells())
def test_each_cell_lands_within_sampling_error(cell):
    found = simulated_shares(cell, simulations=LINES, seed=20_311)
    for ours, theirs in zip((found.improving, found.plateau, found.undecided), REFERENCE[cell], strict=True):
        p = min(max((ours + theirs) / 2, 1 / LINES), 1 - 1 / LINES)
        assert abs(ours - theirs) <= 4 * sqrt(2 * p * (1 - p) / LINES) + ROUNDING


def test_false_verdicts_are_as_rare_as_designed():
    for cell in REFERENCE:
        found = simulated_shares(cell, simulations=LINES, seed=4)
        if not cell.slope_pct_per_week:
            # Either end is a one-sided test at 5 %; three standard errors of 2,000 lines are 1.5 %.
            assert max(found.improving, found.declining) <= 0.065
        if cell.slope_pct_per_week == 0.5:
            # Growth at the bound itself is called a plateau no oftener.
            assert found.plateau <= 0.065


def test_a_plateau_can_hardly_be_shown_in_eight_weeks():
    for cell in REFERENCE:
        if cell.weeks == 8:
            assert simulated_shares(cell, simulations=LINES, seed=5).plateau <= 0.03
