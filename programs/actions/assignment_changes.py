"""Change an assignment from a date on: end it, shift it, put it on other weekdays.

What was done, and what was due before the date, never changes: only sessions to come are rewritten.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID

from coaching.actions.row_versions import Versions, bump
from coaching.actions.stale_weeks import mark_stale
from coaching.measures.constants import DAYS_PER_WEEK
from coaching.policy import Principal
from coaching.refusals import Invalid
from programs.actions.assignment_rows import (
    DateInPast,
    NotChangeable,
    check_active,
    check_not_past,
    lock_assignment,
    movable,
    put_later,
    sessions_to_come,
    settle_dates,
)
from programs.actions.calendar_rows import announce, sessions_from
from programs.actions.sequences import lay_sequences
from programs.models import (
    Assignment,
    AssignmentPause,
    AssignmentState,
    CalendarKind,
    PlannedSession,
    PlannedState,
)
from programs.prescription.calendar import CalendarTerms, ProgramWeek, calendar_conflict
from programs.prescription.weekday_change import dates_on_weekdays
from programs.selectors.business_calendar import BusinessCalendar

LONGEST_SHIFT_DAYS: Final = 366
"""Further than this a program is ended and begun anew. Practice."""


def end_assignment(
    *, actor: Principal, assignment_id: UUID, versions: Versions, from_date: date | None, now: datetime
) -> None:
    """End an assignment: its sessions from a date on (today unless said) come off the calendar.

    Raises:
        NotFound: no such assignment that the actor may see.
        PreconditionFailed: it was changed since.
        NotChangeable: it has ended already.
        DateInPast: the date lies before the client's today.
    """
    assignment, calendar, today = lock_assignment(actor, assignment_id, now)
    first = from_date or today
    check_not_past(first, today)
    bump(Assignment.objects.all(), assignment_id, versions, state=AssignmentState.ENDED)
    taken_off = PlannedSession.objects.filter(
        sessions_from(assignment_id, first, PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED)
    )
    weeks = {(assignment.client_id, calendar.week_of(day)) for day in taken_off.values_list("local_date", flat=True)}
    taken_off.delete()
    mark_stale(weeks=weeks, now=now)


def change_weekdays(
    *,
    actor: Principal,
    assignment_id: UUID,
    versions: Versions,
    weekdays: Sequence[int],
    from_date: date | None,
    now: datetime,
) -> None:
    """Put an assignment's sessions on other weekdays, from a date on (today unless said).

    Raises:
        NotFound: no such assignment that the actor may see.
        PreconditionFailed: it was changed since.
        NotChangeable: it has no fixed days, or is not active.
        Invalid: the weekdays don't fit the program, or the date lies before the client's today.
    """
    assignment, calendar, today = lock_assignment(actor, assignment_id, now)
    first = from_date or today
    check_not_past(first, today)
    check_active(assignment)
    if assignment.calendar != CalendarKind.FIXED_DAYS:
        raise NotChangeable(f"A calendar {assignment.calendar} has no weekdays to change.")
    _check_weekdays(assignment, weekdays, calendar)
    bump(Assignment.objects.all(), assignment_id, versions, weekdays=sorted(weekdays))
    sessions = sessions_to_come(assignment_id, first)
    rows = sorted(movable(sessions.rows), key=lambda row: (row.week_number, row.day_number))
    dates = dates_on_weekdays(
        [row.local_date for row in rows], weekdays, from_date=first, week_start=calendar.week_start
    )
    for row, day in zip(rows, dates, strict=True):
        put_later(row, (day - row.local_date).days, calendar)
    settle_dates(sessions, assignment, calendar, now)


def shift_assignment(
    *, actor: Principal, assignment_id: UUID, days: int, from_date: date | None, now: datetime
) -> None:
    """Move an assignment's sessions from a date on (today unless said) later, or earlier by negative days.

    Fixed weekdays turn with it. In a sequence the days do not count towards late.

    Raises:
        NotFound: no such assignment that the actor may see.
        NotChangeable: it is not active.
        Invalid: the days don't fit the calendar, or a date would lie before the client's today.
    """
    assignment, calendar, today = lock_assignment(actor, assignment_id, now)
    first = from_date or today
    check_not_past(first, today)
    check_active(assignment)
    _check_shift(assignment, days)
    if assignment.calendar == CalendarKind.IN_SEQUENCE:
        AssignmentPause.objects.update_or_create(
            assignment_id=assignment_id,
            from_date=first,
            defaults={"resumed_on": first + timedelta(days=days)},
        )
        bump(Assignment.objects.all(), assignment_id, None)
        announce(lay_sequences(assignment_ids=[assignment_id], calendar=calendar, now=now), now)
        return
    sessions = sessions_to_come(assignment_id, first)
    rows = movable(sessions.rows)
    earliest = min((row.local_date + timedelta(days=days) for row in rows), default=today)
    if earliest < today:
        raise DateInPast.at("#/days", f"The first session would fall on {earliest}, before today, {today}.")
    for row in rows:
        put_later(row, days, calendar)
    turned = sorted((weekday + days) % DAYS_PER_WEEK for weekday in assignment.weekdays)
    bump(Assignment.objects.all(), assignment_id, None, weekdays=turned)
    settle_dates(sessions, assignment, calendar, now)


def _check_shift(assignment: Assignment, days: int) -> None:
    sentence = ""
    if days == 0 or abs(days) > LONGEST_SHIFT_DAYS:
        sentence = f"Shift by 1 to {LONGEST_SHIFT_DAYS} days, or as many negative ones to move earlier."
    elif assignment.calendar == CalendarKind.ANY_DAYS_IN_WEEK and days % DAYS_PER_WEEK:
        sentence = "Sessions due by the week's end shift by whole weeks: 7, 14 and so on."
    elif assignment.calendar == CalendarKind.IN_SEQUENCE and days < 0:
        sentence = "A sequence can't be shifted earlier: its next session may be done any day."
    if sentence:
        raise Invalid.at("#/days", sentence)


def _check_weekdays(assignment: Assignment, weekdays: Sequence[int], calendar: BusinessCalendar) -> None:
    days: dict[int, list[int]] = defaultdict(list)
    keys = PlannedSession.objects.filter(assignment=assignment).values_list("week_number", "day_number")
    for week_number, day_number in keys.order_by("week_number", "day_number"):
        days[week_number].append(day_number)
    fault = calendar_conflict(
        [ProgramWeek(week_number=week, day_numbers=tuple(numbers)) for week, numbers in days.items()],
        CalendarTerms(
            kind="fixed_days",
            start_date=assignment.start_date,
            week_start=calendar.week_start,
            weekdays=tuple(weekdays),
        ),
    )
    if fault:
        raise Invalid.at("#/weekdays", fault)
