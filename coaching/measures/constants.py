"""Constants of the measures package."""

from decimal import Decimal
from typing import Final

KG_PER_LB: Final = Decimal("0.45359237")
"""Kilograms in one avoirdupois pound, exactly. Source: international yard and pound agreement of 1959; NIST SP 811."""

MAX_ABS_LOAD: Final = Decimal(100_000)
"""Loads of this size or more are typing errors in either unit. Practice."""

DAYS_PER_WEEK: Final = 7
"""Days in a week. Source: the calendar."""

HOURS_PER_DAY: Final = 24
"""Hours on a wall clock. Source: the calendar."""
