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

BASELINE_DAYS: Final = 28
"""Days before a daily entry that are its baseline; the day itself is left out. Practice."""

BASELINE_AT_LEAST: Final = 14
"""Fewest of those days with an answer. Practice."""

BASELINE_FORMS: Final = 8
"""Weekly entries before one that are its baseline. Practice."""

BASELINE_FORMS_AT_LEAST: Final = 6
"""Fewest of those. Practice."""

SCALE_SD_FLOOR: Final = 0.5
"""Scale points below which a standard deviation is taken as this, since a bounded whole-number scale can stand still
for weeks. Practice."""

HRV_DAYS: Final = 7
"""Days of which heart rate variability is averaged. Source: Plews et al. 2013 Int J Sports Physiol Perform, read in a
secondary page: weekly means, not single days."""

HRV_AT_LEAST: Final = 3
"""Fewest values among them. Source: Plews et al. 2014 Int J Sports Physiol Perform 9:783."""

HRV_BAND_SD: Final = 0.5
"""Standard deviations of the baseline either side of its mean that count as usual. Source: Plews et al. 2012 and 2013,
from memory."""

RESTING_HR_DAYS: Final = 3
"""Days of which the resting heart rate is averaged. Practice."""

RESTING_HR_AT_LEAST: Final = 2
"""Fewest values among them. Practice."""

RESTING_HR_RISE_BPM: Final = 5.0
"""Beats a minute above the own baseline that count as raised, together with more than one own standard deviation.
Practice."""

RESTING_HR_RISE_SD: Final = 1.0
"""Own standard deviations above the baseline that count as raised. Practice."""

CADENCE_ENTRIES: Final = 8
"""Latest entries from whose gaps it is read whether somebody answers daily or weekly. Practice."""

DAILY_GAP_DAYS: Final = 3
"""A median gap of so many days or fewer is a daily habit. Practice."""

BODYWEIGHT_ALPHA: Final = 0.1
"""Weight of a weigh-in one day after the last; half-life 6.6 days. Practice."""

SHOWN_PLACES: Final = 6
"""Places to which a mean, a standard deviation or a score is rounded, half to even. Practice."""
