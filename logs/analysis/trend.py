"""Theil-Sen trends of many lines at once, with their 90 % intervals.

The slope is the median of all pairwise slopes on real dates, so gaps cost nothing but points, and one mad week moves
it little. The interval is Sen's: ranks of the sorted slopes, after the variance of Kendall's tau less its ties.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan
from statistics import NormalDist
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logs.analysis.constants import TREND_CONFIDENCE

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

_Z: Final = NormalDist().inv_cdf((1 + TREND_CONFIDENCE) / 2)
_CELLS: Final = 500_000
"""Pairwise slopes held at once, so that memory does not grow with the lines. Practice."""


@dataclass(frozen=True, slots=True)
class Slopes:
    """Slopes of many lines; NaN where a line has fewer than two dates, or its interval does not exist.

    Attributes:
        per_day: The slope of each line, in its values' unit a day.
        low: The lower end of its 90 % interval.
        high: The upper end.
        n: Its points.
        level: The median of its values, which is the fitted value at the median date; NaN without any.
    """

    per_day: Floats
    low: Floats
    high: Floats
    n: Counts
    level: Floats


@dataclass(frozen=True, slots=True)
class Slope:
    """One line's slope; each figure None where `Slopes` has NaN."""

    per_day: float | None
    low: float | None
    high: float | None
    n: int
    level: float | None


def theil_sen(days: Sequence[float], values: Sequence[float]) -> Slope:
    """Fit one line.

    Args:
        days: Days in any order, such as date ordinals.
        values: A value for each; NaN for none.

    Returns:
        Slope, 90 % interval, points and level, as `theil_sen_lines` gives them.

    Raises:
        ValueError: There are not as many days as values.

    Source: Theil 1950; Sen 1968 J Am Stat Assoc 63:1379-1389.
    """
    found = theil_sen_lines(np.asarray(days, dtype=np.float64), np.asarray(values, dtype=np.float64)[np.newaxis])
    figures = (found.per_day, found.low, found.high, found.level)
    per_day, low, high, level = (None if isnan(one[0]) else float(one[0]) for one in figures)
    return Slope(per_day=per_day, low=low, high=high, n=int(found.n[0]), level=level)


def theil_sen_lines(days: Floats, values: Floats) -> Slopes:
    """Fit many lines at once.

    Args:
        days: Days of the columns, shared by all lines (a vector) or each line's own (a matrix).
        values: A row for each line and a column for each date; NaN where a line has none.

    Returns:
        The same slopes and intervals as `scipy.stats.theilslopes(y, x, 0.90)` of each line without its gaps: pairs on
        one date give no slope, ties in values and dates shrink Kendall's variance, ranks are rounded half to even.

    Raises:
        ValueError: `values` is no matrix, or the days do not fit it.

    Source: Theil 1950; Sen 1968 J Am Stat Assoc 63:1379-1389, equation 2.6.
    """
    if values.ndim != 2 or days.shape not in {values.shape, values.shape[1:]}:  # noqa: PLR2004 -- a matrix has two
        raise ValueError("Give a row of values for each line, and a day for each of its columns.")
    lines, columns = values.shape
    pairs = max(columns * (columns - 1) // 2, 1)
    step = max(_CELLS // pairs, 1)
    parts = [
        _fitted(days if days.ndim == 1 else days[start : start + step], values[start : start + step])
        for start in range(0, max(lines, 1), step)
    ]
    return Slopes(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def _fitted(days: Floats, values: Floats) -> tuple[Floats, Floats, Floats, Any, Floats]:
    first, second = np.triu_indices(values.shape[1], 1)
    rise = values[:, second] - values[:, first]
    ties = _tie_terms(values, rise)
    run = days[..., second] - days[..., first]
    days_tie = not run.all()
    if days_tie:
        own_days = np.where(np.isnan(values), np.nan, days)
        ties += _tie_terms(own_days, own_days[:, second] - own_days[:, first])
        run = np.where(run == 0, np.nan, run)
    slopes = np.divide(rise, run, out=rise)
    slopes.sort(axis=1)
    n = np.count_nonzero(~np.isnan(values), axis=1)
    # NaN sorts last; without equal dates the number of slopes follows from the number of points.
    found = np.count_nonzero(~np.isnan(slopes), axis=1) if days_tie else n * (n - 1) // 2
    low, high = _interval(slopes, found, n * (n - 1) * (2 * n + 5) - ties)
    ordered = np.sort(values, axis=1)
    return _median(slopes, found), low, high, n, _median(ordered, n)


def _tie_terms(values: Floats, differences: Floats) -> Counts:
    """Sum k (k - 1) (2 k + 5) over the groups of k equal values of each line; few lines have any."""
    terms = np.zeros(len(values), dtype=np.int64)
    tied = np.flatnonzero((differences == 0).any(axis=1))
    if len(tied):
        own = values[tied]
        alike = (own[:, :, np.newaxis] == own[:, np.newaxis, :]).sum(axis=2)
        # Each of the k members of a group brings (k - 1) (2 k + 5); a gap equals nothing, not even itself.
        terms[tied] = np.where(alike > 0, (alike - 1) * (2 * alike + 5), 0).sum(axis=1)
    return terms


def _interval(slopes: Floats, found: Counts, eighteen_variances: Counts) -> tuple[Floats, Floats]:
    exists = (found > 0) & (eighteen_variances >= 0)
    reach = _Z * np.sqrt(np.where(exists, eighteen_variances, 0) / 18)
    upper = np.minimum(np.round((found + reach) / 2), found - 1)
    lower = np.maximum(np.round((found - reach) / 2) - 1, 0)
    return tuple(np.where(exists, _at(slopes, rank), np.nan) for rank in (lower, upper))  # type: ignore[return-value]


def _median(ordered: Floats, found: Counts) -> Floats:
    middle = (_at(ordered, (found - 1) // 2) + _at(ordered, found // 2)) / 2
    return np.where(found > 0, middle, np.nan)


def _at(ordered: Floats, ranks: Any) -> Floats:
    if not ordered.shape[1]:
        return np.full(len(ordered), np.nan)
    places = np.clip(ranks, 0, ordered.shape[1] - 1).astype(np.intp)
    return np.take_along_axis(ordered, places[:, np.newaxis], axis=1)[:, 0]
