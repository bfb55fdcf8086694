"""Lay sequences anew: each session's window follows from when the one before it was performed."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence, AbsenceTreatment
from programs.actions.calendar_rows import LockedSessions, set_due
from programs.models import AssignmentPause, PlannedSession, PlannedState
from programs.prescription.calendar import CalendarTerms, DayKey, PlannedDate, ProgramWeek, planned_dates
from programs.selectors.assignments import pause_spans
from programs.selectors.business_calendar import BusinessCalendar

_OPEN = frozenset({PlannedState.PLANNED, PlannedState.MISSED, PlannedState.PAUSED})


def lay_sequences(
    *, assignment_ids: Collection[UUID], calendar: BusinessCalendar, now: datetime
) -> list[PlannedSession]:
    """Write the windows and due instants that follow from what was performed, paused and absent.

    Sessions that were performed or excused keep their dates; an excused one holds up nothing.

    Returns:
        The sessions that changed.
    """
    if not assignment_ids:
        return []
    sessions = LockedSessions(PlannedSession.objects.filter(assignment_id__in=list(assignment_ids)))
    pauses = pause_spans(AssignmentPause.objects.filter(assignment_id__in=list(assignment_ids)))
    absences = _absences({row.client_id for row in sessions.rows})
    by_assignment: dict[UUID, list[PlannedSession]] = defaultdict(list)
    for row in sessions.rows:
        by_assignment[row.assignment_id].append(row)
    for assignment_id, rows in by_assignment.items():
        _lay(rows, pauses.get(assignment_id, ()), absences.get(rows[0].client_id, ()), calendar, now)
    return sessions.store(calendar=calendar, now=now)


def _absences(client_ids: Collection[UUID]) -> Mapping[UUID, Sequence[DateSpan]]:
    found: dict[UUID, list[DateSpan]] = defaultdict(list)
    rows = Absence.objects.filter(client_id__in=list(client_ids), treatment=AbsenceTreatment.PAUSE)
    for client_id, starts_on, ends_on in rows.values_list("client_id", "starts_on", "ends_on"):
        found[client_id].append(DateSpan(starts_on, ends_on))
    return found


def _lay(
    rows: Sequence[PlannedSession],
    pauses: Sequence[DateSpan],
    absences: Sequence[DateSpan],
    calendar: BusinessCalendar,
    now: datetime,
) -> None:
    counted = sorted(
        (row for row in rows if row.state != PlannedState.EXCUSED),
        key=lambda row: (row.week_number, row.day_number),
    )
    if not counted:
        return
    assignment = counted[0].assignment
    terms = CalendarTerms(
        kind="in_sequence",
        start_date=assignment.start_date,
        week_start=calendar.week_start,
        late_after_days=assignment.late_after_days,
    )
    performed: dict[DayKey, date] = {
        (row.week_number, row.day_number): row.performed_on for row in counted if row.performed_on is not None
    }
    laid = planned_dates(_weeks(counted), terms, pauses=pauses, absences=absences, performed=performed)
    for row, place in zip(counted, laid, strict=True):
        if row.state in _OPEN:
            _place(row, place, calendar, now)


def _weeks(rows: Sequence[PlannedSession]) -> list[ProgramWeek]:
    days: dict[int, list[int]] = defaultdict(list)
    for row in rows:
        days[row.week_number].append(row.day_number)
    return [ProgramWeek(week_number=week, day_numbers=tuple(numbers)) for week, numbers in days.items()]


def _place(row: PlannedSession, place: PlannedDate, calendar: BusinessCalendar, now: datetime) -> None:
    row.local_date, row.window_start, row.window_end = place.local_date, place.window_start, place.window_end
    set_due(row, calendar)
    overdue = row.due_at is not None and row.due_at <= now
    if place.waits:
        row.due_at = None
    if place.planned_as == "paused":
        row.state = PlannedState.PAUSED
    elif row.state != PlannedState.MISSED or place.waits or not overdue:
        row.state = PlannedState.PLANNED
        row.missed_at = None
