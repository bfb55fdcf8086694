"""How often the rule of trends tells the truth: lifters simulated, and judged by the service's own code.

Lifters start at 100 and grow along a straight line, one value a week; each value is off by an independent normal error
whose standard deviation is a constant share of the true value, as a coefficient of variation says. The reference table
does not tell its set-up. Of the readings tried (growth straight or compound; error as a share of the start, of the true
value, or log-normal) straight growth with either of the latter two repeats it within sampling error; error as a share
of the start has a little more power than the table, compound growth clearly more.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from logs.analysis.constants import DAYS_PER_WEEK, PER_CENT
from logs.analysis.trend import theil_sen_lines
from logs.analysis.trend_verdicts import VERDICTS, TrendPolicy, verdicts

START_KG: Final = 100.0
"""Where simulated lifters start; verdicts are of percents, so it cancels. Practice."""

_DEFAULT: Final = TrendPolicy()


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerCell:
    """One set-up: noise as coefficient of variation, weekly values, and the true slope in percent a week."""

    noise_pct: float
    weeks: int
    slope_pct_per_week: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Shares of the simulated lines by verdict."""

    improving: float
    plateau: float
    undecided: float
    declining: float


REFERENCE: Final[dict[PowerCell, tuple[float, float, float]]] = {
    PowerCell(noise_pct=noise, weeks=weeks, slope_pct_per_week=slope): shares
    for noise, weeks, row in (
        (2.5, 8, ((0.03, 0.01, 0.93), (0.21, 0.01, 0.78), (0.54, 0.00, 0.46))),
        (2.5, 12, ((0.04, 0.32, 0.60), (0.62, 0.04, 0.34), (0.98, 0.00, 0.02))),
        (2.5, 16, ((0.04, 0.85, 0.06), (0.94, 0.03, 0.04), (1.00, 0.00, 0.00))),
        (4.2, 8, ((0.03, 0.00, 0.94), (0.11, 0.00, 0.89), (0.25, 0.00, 0.75))),
        (4.2, 12, ((0.04, 0.03, 0.90), (0.31, 0.02, 0.68), (0.73, 0.00, 0.27))),
        (4.2, 16, ((0.06, 0.28, 0.62), (0.59, 0.05, 0.36), (0.98, 0.00, 0.02))),
    )
    for slope, shares in zip((0.0, 0.5, 1.0), row, strict=True)
}
"""Shares improving, plateau and undecided, to two places, as computed beforehand by another program with
scipy.stats.theilslopes, 2,000 simulations a cell. Source: that computation; how its noise was drawn is not known."""


REFERENCE_SIMULATIONS: Final = 2000
"""Lines a cell of the reference table. Source: as the table."""


def simulated_shares(cell: PowerCell, *, simulations: int, seed: int, policy: TrendPolicy = _DEFAULT) -> Shares:
    """Simulate lines and judge them.

    Args:
        cell: Noise, weeks and the true slope.
        simulations: How many lines.
        seed: Of the random numbers.
        policy: The rule's bound and fewest values.

    Returns:
        The share of each verdict; with fewer weeks than the rule asks for nothing is judged, and all are 0.

    Source: practice.
    """
    weeks = np.arange(cell.weeks, dtype=np.float64)
    truth = START_KG * (1 + cell.slope_pct_per_week / PER_CENT * weeks)
    error = np.random.default_rng(seed).normal(0, cell.noise_pct / PER_CENT, (simulations, cell.weeks))
    slopes = theil_sen_lines(weeks * DAYS_PER_WEEK, truth * (1 + error))
    counted = np.bincount(verdicts(slopes, slopes.level, policy), minlength=len(VERDICTS)) / simulations
    found = dict(zip(VERDICTS, map(float, counted), strict=True))
    return Shares(
        improving=found["improving"],
        plateau=found["plateau"],
        undecided=found["undecided"],
        declining=found["declining"],
    )
