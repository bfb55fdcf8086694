"""Trends of many lines at once against one scipy call a line, on the same values in the same run."""

import time

import numpy as np
from scipy.stats import theilslopes

from logs.analysis.trend import theil_sen_lines
from tests.benchmarks.ratios import Ratio, table

LINES, SCIPY_LINES, WEEKS, ROUNDS = 60_000, 3_000, 12, 5


def lines(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Weekly values with a quarter of the weeks missing, some of them tied."""
    rng = np.random.default_rng(11)
    values = rng.normal(100, 4, (count, WEEKS)).round(1)
    values[rng.random(values.shape) < 0.25] = np.nan
    # Three weeks at least, so that every line has an interval.
    values[:, :3] = rng.normal(100, 4, (count, 3)).round(1)
    return 740_000 + 7.0 * np.arange(WEEKS), values


def by_scipy(days: np.ndarray, values: np.ndarray) -> np.ndarray:
    """One call a line, gaps left out."""
    found = []
    for line in values:
        kept = ~np.isnan(line)
        result = theilslopes(line[kept], days[kept], 0.90)
        found.append((result.slope, result.low_slope, result.high_slope))
    return np.array(found)


def measure() -> list[Ratio]:
    """Seconds a line, ours of many lines and scipy's of some of them; equal to 1e-9 or no result."""
    days, values = lines(LINES)
    found, expected = theil_sen_lines(days, values), by_scipy(days, values[:1])
    ours_s, scipy_s = [], []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        found = theil_sen_lines(days, values)
        ours_s.append(time.perf_counter() - start)
        start = time.perf_counter()
        expected = by_scipy(days, values[:SCIPY_LINES])
        scipy_s.append((time.perf_counter() - start) * LINES / SCIPY_LINES)
    ours = np.column_stack([found.per_day, found.low, found.high])[:SCIPY_LINES]
    np.testing.assert_allclose(ours, expected, rtol=0, atol=1e-9)
    return [Ratio.of_rates(f"trends of {LINES:,} lines x {WEEKS} weeks", LINES, ours_s, scipy_s, 150)]


if __name__ == "__main__":
    print(table(measure()))  # noqa: T201 -- a benchmark's output is its point
