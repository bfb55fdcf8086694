"""An assignment and its sessions to come, locked for a change; and what no change may do."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from coaching.policy import Principal
from coaching.refusals import Conflict, Invalid, NotFound
from programs.actions.calendar_rows import LockedSessions, announce, sessions_from, set_due
from programs.actions.excusing import excuse_absent, taken_by_absence
from programs.models import Assignment, AssignmentState, PlannedSession, PlannedState
from programs.selectors.assignments import visible_assignments
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar


class NotChangeable(Conflict):
    """The assignment's state or calendar forbids the change."""

    code = "not_changeable"


class DateInPast(Invalid):
    """What was done or due stays as it is."""

    code = "date_in_past"


def lock_assignment(actor: Principal, assignment_id: UUID, now: datetime) -> tuple[Assignment, BusinessCalendar, date]:
    """Return an assignment and its client locked until the transaction ends, the calendar, and the client's today.

    Raises:
        NotFound: no such assignment that the actor may see.
        NotChangeable: it has ended.
    """
    found = (
        visible_assignments(actor)
        .select_related("client")
        .select_for_update(of=("self", "client"), no_key=True)
        .filter(id=assignment_id)
        .first()
    )
    if found is None:
        raise NotFound("There is no assignment with this id that you may see.")
    if found.state == AssignmentState.ENDED:
        raise NotChangeable("The assignment has ended; assign the program anew.")
    calendar = get_business_calendar()
    return found, calendar, calendar.today(now, found.client.time_zone)


def check_not_past(day: date, today: date, pointer: str = "#/from_date") -> None:
    """Refuse a date before the client's today.

    Raises:
        DateInPast: with the earliest date to choose.
    """
    if day < today:
        sentence = f"{day} lies in the client's past, which never changes; choose today, {today}, or later."
        raise DateInPast.at(pointer, sentence)


def check_active(assignment: Assignment) -> None:
    """Refuse an assignment that stands still.

    Raises:
        NotChangeable: it is paused.
    """
    if assignment.state != AssignmentState.ACTIVE:
        raise NotChangeable(f"The assignment is {assignment.state}; resume it first.")


def sessions_to_come(assignment_id: UUID, first: date) -> LockedSessions:
    """Return an assignment's sessions from a date on that nothing was logged for, locked."""
    return LockedSessions(
        PlannedSession.objects.filter(sessions_from(assignment_id, first, PlannedState.PLANNED, PlannedState.EXCUSED))
    )


def movable(rows: Sequence[PlannedSession]) -> list[PlannedSession]:
    """Return the sessions that a change moves: what a person excused stays where it was."""
    return [row for row in rows if row.state == PlannedState.PLANNED or taken_by_absence(row)]


def put_later(row: PlannedSession, days: int, calendar: BusinessCalendar) -> None:
    """Move a session by days, or earlier by negative ones, in memory."""
    shift = timedelta(days=days)
    row.local_date += shift
    row.window_start += shift
    row.window_end += shift
    row.moved_from = None
    set_due(row, calendar)


def settle_dates(sessions: LockedSessions, assignment: Assignment, calendar: BusinessCalendar, now: datetime) -> None:
    """Excuse what fell into absences, write what changed, and tell the other apps."""
    excuse_absent(sessions.rows, client_id=assignment.client_id)
    announce(sessions.store(calendar=calendar, now=now), now)
