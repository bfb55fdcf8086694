"""Sessions on fixed days, put on other weekdays: each stays in its own business week."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import combinations

from coaching.measures.local_calendar import week_start_of


def dates_on_weekdays(
    dates: Sequence[date], weekdays: Sequence[int], *, from_date: date, week_start: int
) -> list[date]:
    """Find the new dates of sessions when a client's weekdays change.

    In each business week the sessions keep their order and take the chosen weekdays that move them least,
    none before `from_date`. Where a week has fewer chosen days left than sessions, the first ones keep their date.

    Args:
        dates: the sessions' local dates, in the program's order, none before `from_date`.
        weekdays: the weekdays chosen, 0 = Monday; one named twice takes two sessions.
        from_date: the first date that may be used.
        week_start: the business's first weekday, 0 = Monday.

    Returns:
        One date per session, in the same order.

    Raises:
        LocalCalendarError: the week start is not 0 to 6.

    Source: practice.
    """
    by_week: dict[date, list[int]] = defaultdict(list)
    for index, day in enumerate(dates):
        by_week[week_start_of(day, week_start)].append(index)
    result = list(dates)
    for first, indexes in by_week.items():
        offered = sorted(first + timedelta(days=(weekday - first.weekday()) % 7) for weekday in weekdays)
        free = [day for day in offered if day >= from_date]
        moving = indexes[-len(free) :] if len(free) < len(indexes) else indexes
        chosen = _least_moved([dates[index] for index in moving], free)
        for index, day in zip(moving, chosen, strict=False):
            result[index] = day
    return result


def _least_moved(dates: Sequence[date], free: Sequence[date]) -> tuple[date, ...]:
    if not free:
        return tuple(dates)
    ordered = sorted(dates)

    def moved_days(chosen: tuple[date, ...]) -> tuple[int, tuple[date, ...]]:
        return sum(abs((new - old).days) for old, new in zip(ordered, chosen, strict=True)), chosen

    return min(combinations(free, len(ordered)), key=moved_days)
