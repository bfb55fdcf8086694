"""Pace and power of a rowing machine: W = 2.80 / p^3 with p in seconds a metre, and so by the 500 m split.

Power is not linear in pace: the average power of uneven rowing is not the power of its average pace.
Source: trade fact, several agreeing pages.
"""

from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from programs.prescription.constants import ROWING_SPLIT_M, ROWING_WATTS

_HUNDREDTH: Final = Decimal("0.01")
"""Watts and seconds are given to a hundredth. Practice."""


def power_w(split_s: Decimal) -> Decimal:
    """Give the watts of an even pace.

    Args:
        split_s: seconds for 500 m, above 0.

    Raises:
        ValueError: when the split is not above zero.
    """
    if split_s <= 0:
        raise ValueError(f"Give a split above zero seconds, not {split_s}.")
    pace_s_per_m = split_s / ROWING_SPLIT_M
    return (ROWING_WATTS / pace_s_per_m**3).quantize(_HUNDREDTH, rounding=ROUND_HALF_EVEN)


def split_s(watts: Decimal) -> Decimal:
    """Give the seconds for 500 m at an even power.

    Args:
        watts: the power, above 0.

    Raises:
        ValueError: when the power is not above zero.
    """
    if watts <= 0:
        raise ValueError(f"Give a power above zero watts, not {watts}.")
    pace_s_per_m = (ROWING_WATTS / watts) ** (Decimal(1) / 3)
    return (pace_s_per_m * ROWING_SPLIT_M).quantize(_HUNDREDTH, rounding=ROUND_HALF_EVEN)
