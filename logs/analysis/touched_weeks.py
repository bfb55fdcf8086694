"""Which weeks a log touches."""

from datetime import date, timedelta

from coaching.measures.local_calendar import week_start_of
from logs.analysis.constants import BODYWEIGHT_KNOWN_DAYS, DAYS_PER_WEEK


def weeks_touched_by_bodyweight(local_date: date, *, week_start: int, until: date) -> tuple[date, ...]:
    """Find the weeks whose figures a weigh-in touches: its own, and those whose sets may move that bodyweight.

    Args:
        local_date: The weigh-in's local date.
        week_start: The business's first weekday, 0 = Monday.
        until: The last local date on which anything can have been performed yet; a later set makes its own week stale.

    Returns:
        The first days of the weeks, in order; the weigh-in's own week always among them.

    Raises:
        LocalCalendarError: The week start is not 0 to 6.

    Source: practice.
    """
    first = week_start_of(local_date, week_start)
    last = max(local_date, min(local_date + timedelta(days=BODYWEIGHT_KNOWN_DAYS), until))
    weeks = (last - first).days // DAYS_PER_WEEK + 1
    return tuple(first + timedelta(days=DAYS_PER_WEEK * week) for week in range(weeks))
