"""The calendar: on which local dates a program's days fall, when they are due, and what state they are in.

Three kinds of calendar, each with one rule:

- `fixed_days`: program week k is the k-th block of seven days from the start date; its d-th day falls on the d-th
  of the chosen weekdays that the block holds. A start in mid-week therefore begins with the first chosen weekday on
  or after it, and a chosen weekday never goes unused in the middle. A weekday named twice takes two sessions.
- `any_days_in_week`: program week k is the k-th business week; its days are due together by the week's end. Week 1
  is the business week of the start date if that leaves a day for each session, else the next one.
- `in_sequence`: the next session whenever the client likes; it is late `late_after_days` after the one before it was
  performed (the first: counted from the start date). Sessions after the next one wait: their dates are a projection
  at the slowest pace, and week numbers only group the content.

A pause stands the program still: what has not come moves later, by whole weeks for the first two kinds (so that
weekdays stay), day by day in a sequence; while its end is not known, what it holds back is `paused`. An absence
excuses the sessions that it takes away: those on its days (`fixed_days`), or the last ones of a week that has fewer
free days than sessions (`any_days_in_week`). A sequence excuses nothing: absent days do not count towards late.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Final, Literal, get_args

from coaching.measures.constants import DAYS_PER_WEEK, HOURS_PER_DAY
from coaching.measures.local_calendar import DateSpan, business_week, local_instant

CalendarKind = Literal["fixed_days", "any_days_in_week", "in_sequence"]
PlannedAs = Literal["planned", "excused", "paused"]
DayKey = tuple[int, int]

CALENDAR_KINDS: Final[tuple[CalendarKind, ...]] = get_args(CalendarKind)
"""Every kind of calendar. Practice."""

WEEKDAY_NAMES: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
"""Weekdays by number, 0 = Monday. Source: ISO 8601 order."""

_ONE_DAY = timedelta(days=1)
_ONE_WEEK = timedelta(days=DAYS_PER_WEEK)


class CalendarError(ValueError):
    """Terms that cannot be laid on a calendar; the sentence says what to change."""

    code = "calendar_conflict"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramWeek:
    """A program week and the numbers of its days, in order."""

    week_number: int
    day_numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarTerms:
    """How one client follows a program.

    Attributes:
        kind: The kind of calendar.
        start_date: The first local date on which a session may fall.
        week_start: The business's first weekday, 0 = Monday to 6 = Sunday.
        weekdays: Chosen weekdays for `fixed_days`, 0 = Monday; a weekday named twice takes two sessions.
        late_after_days: For `in_sequence`: days after the session before, from which the next one is late.
    """

    kind: CalendarKind
    start_date: date
    week_start: int = 0
    weekdays: tuple[int, ...] = ()
    late_after_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedDate:
    """Where a program day falls.

    Attributes:
        week_number: Program week.
        day_number: Day within that week.
        local_date: The date by which it counts: its day, the week's last day, or the day on which it turns late.
        window_start: First day on which doing it is on time.
        window_end: Last day on which doing it is on time.
        planned_as: `planned`, `excused` (an absence takes it away) or `paused` (a pause without an end holds it).
        waits: An earlier session of a sequence is still open, so this one is not due on any day yet.
    """

    week_number: int
    day_number: int
    local_date: date
    window_start: date
    window_end: date
    planned_as: PlannedAs = "planned"
    waits: bool = False


def planned_dates(
    weeks: Sequence[ProgramWeek],
    terms: CalendarTerms,
    *,
    pauses: Sequence[DateSpan] = (),
    absences: Sequence[DateSpan] = (),
    performed: Mapping[DayKey, date] | None = None,
) -> list[PlannedDate]:
    """Lay a program's days on a client's calendar.

    Args:
        weeks: The program's weeks in order, each with its day numbers in order.
        terms: The client's start, kind of calendar and choices.
        pauses: Spans in which the program stands still; one without a last day is not resumed yet.
        absences: Spans in which the client is excused (not those with a travel plan, or trained as planned).
        performed: `(week_number, day_number)` to the local date performed; moves a sequence on, changes nothing else.

    Returns:
        One entry per program day, in the program's order.

    Raises:
        CalendarError: The weekdays and the program's days do not fit each other, or a term is missing.

    Source: practice; the rules are in the module's docstring.
    """
    fault = calendar_conflict(weeks, terms)
    if fault:
        raise CalendarError(fault)
    if terms.kind == "in_sequence":
        return list(_in_sequence(weeks, terms, (*pauses, *absences), performed or {}))
    laid = _fixed_days(weeks, terms) if terms.kind == "fixed_days" else _any_days(weeks, terms)
    standing = _pauses_from(terms.start_date, pauses)
    moved = [_after_pauses(day, standing) for day in laid]
    if terms.kind == "fixed_days":
        return [_excused_where(day, holds=any(day.local_date in absence for absence in absences)) for day in moved]
    return _excuse_what_does_not_fit(moved, absences)


def calendar_conflict(weeks: Sequence[ProgramWeek], terms: CalendarTerms) -> str:
    """Say why a program does not fit a client's terms.

    Args:
        weeks: The program's weeks.
        terms: The client's terms.

    Returns:
        A sentence that says what to change; empty when they fit.

    Source: practice.
    """
    most = max((len(week.day_numbers) for week in weeks), default=0)
    if most == 0:
        return "The program has no training days; add at least one before assigning it."
    if terms.week_start not in range(DAYS_PER_WEEK):
        return f"The week starts on a weekday from 0 (Monday) to 6 (Sunday), not {terms.week_start}."
    if terms.kind == "fixed_days":
        return _weekday_conflict(terms.weekdays, most)
    if terms.kind == "in_sequence":
        return _sequence_conflict(terms.late_after_days)
    return "" if terms.kind in CALENDAR_KINDS else f"The calendar is {' or '.join(CALENDAR_KINDS)}, not {terms.kind!r}."


def due_at(local_date: date, zone_name: str, grace_h: int) -> datetime:
    """Find the instant from which an untouched session counts as missed.

    Args:
        local_date: The local date by which the session counts.
        zone_name: The client's IANA zone.
        grace_h: Whole hours on the wall clock after the midnight that ends that date.

    Returns:
        The instant in UTC; where the clock skips that wall time, the first instant after it.

    Raises:
        CalendarError: The grace is negative.
        UnknownZoneError: There is no such zone.

    Source: practice (the default grace is 6 hours).
    """
    if grace_h < 0:
        raise CalendarError(f"The grace is 0 hours or more after the local day, not {grace_h}.")
    days, hours = divmod(grace_h, HOURS_PER_DAY)
    return local_instant(local_date + timedelta(days=1 + days), time(hours), zone_name)


def client_move_refusal(planned: PlannedDate, new_date: date, *, kind: CalendarKind, week_start: int) -> str:
    """Say why a client may not move a session to a date; a coach may move it anywhere.

    Args:
        planned: The session as planned.
        new_date: The local date wished for.
        kind: The kind of calendar.
        week_start: The business's first weekday, 0 = Monday.

    Returns:
        A sentence that says which dates are free to choose; empty when the move is allowed.

    Raises:
        LocalCalendarError: The week start is not 0 to 6.

    Source: practice.
    """
    if kind == "in_sequence":
        return "Sessions in sequence have no fixed day to move: do the next one when it suits."
    first, last = planned.window_start, planned.window_end
    if kind == "fixed_days":
        first, last = business_week(planned.local_date, week_start)
    if first <= new_date <= last:
        return ""
    return f"A session may be moved inside its week, from {first} to {last}; ask the coach for {new_date}."


def _weekday_conflict(weekdays: tuple[int, ...], most: int) -> str:
    wrong = [day for day in weekdays if day not in range(DAYS_PER_WEEK)]
    if wrong:
        return f"Weekdays are numbers from 0 (Monday) to 6 (Sunday), not {wrong[0]}."
    if len(weekdays) == most:
        return ""
    chosen = ", ".join(WEEKDAY_NAMES[day] for day in sorted(weekdays)) or "none"
    verb = "add" if len(weekdays) < most else "take away"
    return (
        f"The program trains {most} days in a week and {len(weekdays)} weekdays are chosen ({chosen}); "
        f"{verb} {abs(most - len(weekdays))}, or use the calendar any_days_in_week."
    )


def _sequence_conflict(late_after_days: int | None) -> str:
    if late_after_days is None:
        return "A calendar in sequence needs late_after_days: after how many days the next session is late."
    return "" if late_after_days >= 1 else f"late_after_days is 1 or more, not {late_after_days}."


def _fixed_days(weeks: Sequence[ProgramWeek], terms: CalendarTerms) -> Iterator[PlannedDate]:
    for index, week in enumerate(weeks):
        block = terms.start_date + index * _ONE_WEEK
        offsets = sorted((weekday - block.weekday()) % DAYS_PER_WEEK for weekday in terms.weekdays)
        # A week with fewer days (a deload) takes the first of the chosen weekdays.
        for day_number, offset in zip(week.day_numbers, offsets, strict=False):
            day = block + timedelta(days=offset)
            yield PlannedDate(
                week_number=week.week_number,
                day_number=day_number,
                local_date=day,
                window_start=day,
                window_end=day,
            )


def _any_days(weeks: Sequence[ProgramWeek], terms: CalendarTerms) -> Iterator[PlannedDate]:
    first, last = business_week(terms.start_date, terms.week_start)
    if (last - terms.start_date).days + 1 < len(weeks[0].day_numbers):
        first, last = first + _ONE_WEEK, last + _ONE_WEEK
    for index, week in enumerate(weeks):
        for day_number in week.day_numbers:
            yield PlannedDate(
                week_number=week.week_number,
                day_number=day_number,
                local_date=last + index * _ONE_WEEK,
                window_start=max(terms.start_date, first + index * _ONE_WEEK),
                window_end=last + index * _ONE_WEEK,
            )


def _in_sequence(
    weeks: Sequence[ProgramWeek],
    terms: CalendarTerms,
    still: Sequence[DateSpan],
    performed: Mapping[DayKey, date],
) -> Iterator[PlannedDate]:
    late_after = terms.late_after_days or 1
    anchor = terms.start_date - _ONE_DAY
    waits = False
    for week in weeks:
        for day_number in week.day_numbers:
            window, held = _free_days(anchor + _ONE_DAY, late_after, still)
            done_on = performed.get((week.week_number, day_number))
            yield PlannedDate(
                week_number=week.week_number,
                day_number=day_number,
                local_date=window[-1],
                window_start=window[0],
                window_end=window[-1],
                planned_as="paused" if held and done_on is None else "planned",
                waits=waits and done_on is None,
            )
            anchor = window[-1] if done_on is None else done_on
            waits = waits or done_on is None


def _free_days(first: date, count: int, still: Sequence[DateSpan]) -> tuple[list[date], bool]:
    """Collect the next days that count, passing over standing time; True when a span without an end holds them."""
    held = False
    days: list[date] = []
    day = first
    while len(days) < count:
        span = next((span for span in still if day in span), None)
        if span is None or span.last is None:
            held = held or span is not None
            days.append(day)
            day += _ONE_DAY
        else:
            day = span.last + _ONE_DAY
    return days, held


def _pauses_from(start_date: date, pauses: Sequence[DateSpan]) -> list[DateSpan]:
    """Only days on which the program would have run can hold it up."""
    running = [pause for pause in pauses if pause.last is None or pause.last >= start_date]
    return sorted(
        (DateSpan(max(pause.first, start_date), pause.last) for pause in running), key=lambda span: span.first
    )


def _after_pauses(day: PlannedDate, pauses: Sequence[DateSpan]) -> PlannedDate:
    for pause in pauses:
        if day.local_date < pause.first:
            continue
        if pause.last is None:
            return replace(day, planned_as="paused")
        shift = -(-((pause.last - pause.first).days + 1) // DAYS_PER_WEEK) * _ONE_WEEK
        day = replace(
            day,
            local_date=day.local_date + shift,
            window_start=day.window_start + shift,
            window_end=day.window_end + shift,
        )
    return day


def _excuse_what_does_not_fit(days: list[PlannedDate], absences: Sequence[DateSpan]) -> list[PlannedDate]:
    taken: dict[date, int] = {}
    result: list[PlannedDate] = []
    for day in days:
        position = taken[day.window_end] = taken.get(day.window_end, 0) + 1
        absent = _absent_days(day.window_start, day.window_end, absences)
        free = (day.window_end - day.window_start).days + 1 - absent
        # Two sessions a day are possible: without an absence nothing is excused for want of days.
        result.append(_excused_where(day, holds=absent > 0 and position > free))
    return result


def _absent_days(first: date, last: date, absences: Sequence[DateSpan]) -> int:
    days = (first + timedelta(days=offset) for offset in range((last - first).days + 1))
    return sum(any(day in absence for absence in absences) for day in days)


def _excused_where(day: PlannedDate, *, holds: bool) -> PlannedDate:
    return replace(day, planned_as="excused") if holds and day.planned_as == "planned" else day
