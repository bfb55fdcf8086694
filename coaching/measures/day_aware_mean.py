"""An exponentially weighted mean that knows how many days lie between its values."""

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from math import isfinite

from coaching.measures.baselines import DatedValue


class DayAwareMeanError(ValueError):
    """A weight or a series of which there is no such mean."""

    code = "invalid_day_aware_mean"


def day_aware_means(values: Sequence[DatedValue], alpha: float) -> list[float]:
    """Weight values exponentially, the last most, the more so the longer nothing was measured before it.

    Args:
        values: One value a local date, oldest first, any days missing.
        alpha: The weight of a value one day after the last, over 0 and at most 1.

    Returns:
        One mean per value; the first value is its own mean. A value dt days after the one before weighs
        1 - (1 - alpha)^dt, as if the missing days had each held the value that came after them.

    Raises:
        DayAwareMeanError: The weight is outside its range, a value is not finite, or dates do not rise.

    Source: practice; on unbroken days equal to pandas' ewm(alpha=alpha, adjust=False).
    """
    if not 0 < alpha <= 1:
        raise DayAwareMeanError(f"The weight of a value is over 0 and at most 1, not {alpha}.")
    if not all(isfinite(entry.value) for entry in values):
        raise DayAwareMeanError("Every value must be a finite number.")
    means: list[float] = [values[0].value] if values else []
    for earlier, later in pairwise(values):
        weight = 1 - (1 - alpha) ** _gap_days(earlier.local_date, later.local_date)
        means.append(weight * later.value + (1 - weight) * means[-1])
    return means


def _gap_days(earlier: date, later: date) -> int:
    if later <= earlier:
        raise DayAwareMeanError(f"{later} does not come after {earlier}; give one value a day, oldest first.")
    return (later - earlier).days
