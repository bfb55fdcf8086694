"""Let an assignment stand still from a date on, and go on with it."""

from datetime import date, datetime, timedelta
from uuid import UUID

from coaching.actions.row_versions import bump
from coaching.measures.constants import DAYS_PER_WEEK
from coaching.policy import Principal
from programs.actions.assignment_rows import (
    NotChangeable,
    check_active,
    check_not_past,
    lock_assignment,
    movable,
    put_later,
    sessions_to_come,
    settle_dates,
)
from programs.actions.calendar_rows import LockedSessions, announce
from programs.actions.sequences import lay_sequences
from programs.models import (
    Assignment,
    AssignmentPause,
    AssignmentState,
    CalendarKind,
    PlannedSession,
    PlannedState,
)


def pause_assignment(*, actor: Principal, assignment_id: UUID, from_date: date, now: datetime) -> None:
    """Let an assignment stand still from a date on, until it is resumed.

    Raises:
        NotFound: no such assignment that the actor may see.
        NotChangeable: it is not active.
        DateInPast: the date lies before the client's today.
    """
    assignment, calendar, today = lock_assignment(actor, assignment_id, now)
    check_not_past(from_date, today)
    check_active(assignment)
    AssignmentPause.objects.update_or_create(
        assignment_id=assignment_id, from_date=from_date, defaults={"resumed_on": None}
    )
    bump(Assignment.objects.all(), assignment_id, None, state=AssignmentState.PAUSED)
    if assignment.calendar == CalendarKind.IN_SEQUENCE:
        announce(lay_sequences(assignment_ids=[assignment_id], calendar=calendar, now=now), now)
        return
    sessions = sessions_to_come(assignment_id, from_date)
    for row in movable(sessions.rows):
        row.state, row.absence_id, row.excuse_reason = PlannedState.PAUSED, None, ""
    announce(sessions.store(calendar=calendar, now=now), now)


def resume_assignment(*, actor: Principal, assignment_id: UUID, on: date, now: datetime) -> None:
    """Go on with a paused assignment: what was held up moves later, by whole weeks where days are fixed.

    A date on or before the pause's first takes the pause back: nothing moves.

    Raises:
        NotFound: no such assignment that the actor may see.
        NotChangeable: it is not paused.
        DateInPast: the date lies before the client's today.
    """
    assignment, calendar, today = lock_assignment(actor, assignment_id, now)
    check_not_past(on, today, "#/on")
    pause = AssignmentPause.objects.filter(assignment_id=assignment_id, resumed_on=None).first()
    if assignment.state != AssignmentState.PAUSED or pause is None:
        raise NotChangeable(f"The assignment is {assignment.state}, not paused.")
    bump(Assignment.objects.all(), assignment_id, None, state=AssignmentState.ACTIVE)
    days = max(0, (on - pause.from_date).days)
    AssignmentPause.objects.filter(id=pause.id).update(resumed_on=pause.from_date + timedelta(days=days))
    if assignment.calendar == CalendarKind.IN_SEQUENCE:
        announce(lay_sequences(assignment_ids=[assignment_id], calendar=calendar, now=now), now)
        return
    sessions = LockedSessions(PlannedSession.objects.filter(assignment_id=assignment_id, state=PlannedState.PAUSED))
    for row in sessions.rows:
        row.state = PlannedState.PLANNED
        put_later(row, -(-days // DAYS_PER_WEEK) * DAYS_PER_WEEK, calendar)
    settle_dates(sessions, assignment, calendar, now)
