"""The weekly values of lift lines, which weeks stay out of trends and why, and the trends of many lines at once."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from math import nan
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.trend import Floats, Slope, Slopes, theil_sen_lines
from logs.analysis.trend_verdicts import TrendPolicy, verdicts

LeftOut = Literal["", "deload", "ill", "away"]

LEFT_OUT: Final[tuple[LeftOut, ...]] = ("", "deload", "ill", "away")
"""Why a week stays out of trends; empty when it does not. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AwayDays:
    """Days, first and last included, on which a client is away, and whether ill."""

    first: date
    last: date
    ill: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePoint:
    """A line's value of a week.

    Attributes:
        week_start: The first day of the week.
        value_kg: The median of its sessions' best estimates, in the load's own basis.
        sessions: How many sessions.
        left_out: Why it stays out of the trend; empty when it does not.
        being_refreshed: A late log of that week is still being worked in.
    """

    week_start: date
    value_kg: Decimal
    sessions: int
    left_out: LeftOut = ""
    being_refreshed: bool = False


@dataclass(frozen=True, slots=True)
class LineSlopes:
    """Slopes and verdicts of many lines: `codes` are places in `VERDICTS`."""

    slopes: Slopes
    codes: NDArray[np.int64]

    def slope(self, row: int) -> Slope:
        """Return one line's slope.

        Args:
            row: Its row.

        Returns:
            The slope; figures that do not exist as None.

        Source: practice.
        """
        own = self.slopes
        figures = (float(one[row]) for one in (own.per_day, own.low, own.high, own.level))
        per_day, low, high, level = (None if np.isnan(one) else one for one in figures)
        return Slope(per_day=per_day, low=low, high=high, n=int(own.n[row]), level=level)


def left_out_weeks(weeks: Iterable[date], deloads: Collection[date], away: Sequence[AwayDays]) -> dict[date, LeftOut]:
    """Say which weeks stay out of trends, and why.

    Args:
        weeks: First days of weeks.
        deloads: Those that are deloads.
        away: When the client was away.

    Returns:
        A reason for each week that stays out: `ill` or `away` on any of its days, or `deload`; in that order.

    Source: practice.
    """
    found: dict[date, LeftOut] = {}
    for week in weeks:
        last = week + timedelta(days=DAYS_PER_WEEK - 1)
        touching = [one for one in away if one.first <= last and one.last >= week]
        if touching:
            found[week] = "ill" if any(one.ill for one in touching) else "away"
        elif week in deloads:
            found[week] = "deload"
    return found


def line_slopes(
    lines: Sequence[Mapping[date, float]], bodies_kg: Sequence[float | None], policy: TrendPolicy | None = None
) -> LineSlopes:
    """Fit and judge many lines at once.

    Args:
        lines: Each line's weekly values by first day of the week, those that stay out left out.
        bodies_kg: The bodyweight moved beside each line's load; 0 for other loads, None unknown.
        policy: The bound of a plateau, and the fewest values.

    Returns:
        Slopes in kg a day, and verdicts.

    Source: as `theil_sen_lines` and `verdict`.
    """
    weeks = sorted({week for line in lines for week in line})
    places = {week: place for place, week in enumerate(weeks)}
    values: Floats = np.full((len(lines), len(weeks)), nan)
    for row, line in enumerate(lines):
        if line:
            values[row, [places[week] for week in line]] = list(line.values())
    days = np.array([week.toordinal() for week in weeks], dtype=np.float64)
    slopes = theil_sen_lines(days, values)
    level = slopes.level + np.array([nan if body is None else body for body in bodies_kg], dtype=np.float64)
    return LineSlopes(slopes, verdicts(slopes, level, policy or TrendPolicy()))
