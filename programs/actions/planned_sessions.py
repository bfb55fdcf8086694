"""Move, excuse and give back single sessions, and follow a client into another time zone."""

from datetime import date, datetime, timedelta
from typing import Final, cast
from uuid import UUID

from django.db.models import Max, Q

from coaching.actions.row_versions import Versions
from coaching.measures.local_calendar import business_week
from coaching.models import Role
from coaching.policy import Principal
from coaching.refusals import Conflict, Invalid, NotFound, PreconditionFailed
from programs.actions.calendar_rows import LockedSessions, announce, open_again, set_due
from programs.actions.sequences import lay_sequences
from programs.actions.version_in_force import take_version_in_force
from programs.models import CalendarKind, PlannedSession, PlannedState
from programs.prescription.calendar import CalendarKind as Kind
from programs.prescription.calendar import PlannedDate, client_move_refusal
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar
from programs.selectors.planned_sessions import visible_planned_sessions

PAST_THE_END_DAYS: Final = 28
"""How far past a program's last session a coach may move one. Practice."""

_UNTOUCHED: Final = frozenset({PlannedState.PLANNED, PlannedState.MISSED, PlannedState.EXCUSED})


class SessionPerformed(Conflict):
    """What was done never changes."""

    code = "session_performed"


class SessionPaused(Conflict):
    """A session that a pause holds has no date of its own until the assignment is resumed."""

    code = "session_paused"


class CoachOnly(Conflict):
    """Excusing a session is for its coach."""

    code = "coach_only"


class InvalidMove(Invalid):
    """A date that the session may not take."""

    code = "invalid_move"


def change_planned_session(
    *,
    actor: Principal,
    planned_session_id: UUID,
    versions: Versions,
    now: datetime,
    local_date: date | None = None,
    state: str | None = None,
    excuse_reason: str = "",
) -> None:
    """Move a session to another day, excuse it, or give it back.

    A coach moves it to any day from the client's today to four weeks past the program's end; a client inside
    its week, which keeps where it was in `moved_from`. A missed session moved to a day to come is planned again.

    Args:
        actor: a coach, or the client.
        planned_session_id: the session.
        versions: what `If-Match` admits.
        now: decides what lies in the past.
        local_date: the day to move it to.
        state: `excused` or `planned`.
        excuse_reason: why it is excused.

    Raises:
        NotFound: no such session that the actor may see.
        PreconditionFailed: it was changed since.
        SessionPerformed: something was logged for it.
        SessionPaused: a pause holds it.
        CoachOnly: a client tried to excuse it.
        InvalidMove: the date is not free to choose.
    """
    sessions = LockedSessions(visible_planned_sessions(actor).filter(id=planned_session_id), clients_first=True)
    if not sessions.rows:
        raise NotFound("There is no planned session with this id that you may see.")
    row = sessions.rows[0]
    check_changeable(row, versions)
    calendar = get_business_calendar()
    today = calendar.today(now, row.client.time_zone)
    if state is not None:
        _set_state(row, state, excuse_reason, by_client=actor.role == Role.CLIENT)
    if local_date is not None:
        _move(row, local_date, today, calendar, by_client=actor.role == Role.CLIENT)
    if row.assignment.calendar != CalendarKind.IN_SEQUENCE:
        set_due(row, calendar)
    changed = sessions.store(calendar=calendar, now=now)
    if state == PlannedState.PLANNED:
        take_version_in_force(changed, now=now)
    if row.assignment.calendar == CalendarKind.IN_SEQUENCE:
        changed += lay_sequences(assignment_ids=[row.assignment_id], calendar=calendar, now=now)
    announce(changed, now)


def follow_client_zone(client_id: UUID, zone_name: str, now: datetime) -> None:
    """Take a client's sessions to come into their new zone: same local dates, new due instants."""
    sessions = LockedSessions(
        PlannedSession.objects.filter(
            Q(due_at__gt=now) | Q(due_at=None),
            client_id=client_id,
            state__in=[PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED],
        )
    )
    calendar = get_business_calendar()
    for row in sessions.rows:
        row.zone = zone_name
        if row.due_at is not None:
            set_due(row, calendar)
    sessions.store(calendar=calendar, now=now)


def check_changeable(row: PlannedSession, versions: Versions) -> None:
    """Refuse a session that is not as the caller saw it, that a pause holds, or that something was logged for.

    Raises:
        PreconditionFailed: it was changed since.
        SessionPaused: a pause holds it.
        SessionPerformed: something was logged for it.
    """
    if versions is not None and row.row_version not in versions:
        raise PreconditionFailed(
            f'It is at version "v{row.row_version}" by now; read it again and send your change with that ETag.'
        )
    if row.state == PlannedState.PAUSED:
        raise SessionPaused("A pause holds this session; resume the assignment first.")
    if row.state not in _UNTOUCHED:
        raise SessionPerformed(f"The session is {row.state}: what was done never changes. Correct its log instead.")


def _set_state(row: PlannedSession, state: str, reason: str, *, by_client: bool) -> None:
    if by_client:
        raise CoachOnly("Only a coach excuses a session or gives it back; ask yours.")
    if state == PlannedState.EXCUSED:
        row.state, row.missed_at, row.absence_id = PlannedState.EXCUSED, None, None
        row.excuse_reason = reason or "Excused by the coach."
    elif row.state == PlannedState.EXCUSED:
        open_again(row)


def _move(row: PlannedSession, day: date, today: date, calendar: BusinessCalendar, *, by_client: bool) -> None:
    kind = cast("Kind", row.assignment.calendar)
    if kind == "in_sequence":
        raise InvalidMove.at("#/local_date", "Sessions in sequence have no fixed day to move; shift the assignment.")
    if day < today:
        raise InvalidMove.at(
            "#/local_date", f"{day} lies in the client's past; choose today, {today}, or later.", "date_in_past"
        )
    if by_client:
        _move_inside_week(row, day, kind, calendar)
    else:
        _move_anywhere(row, day, kind, calendar)
    if row.state == PlannedState.MISSED:
        open_again(row)


def _move_inside_week(row: PlannedSession, day: date, kind: Kind, calendar: BusinessCalendar) -> None:
    planned_on = row.moved_from or row.local_date
    place = PlannedDate(
        week_number=row.week_number,
        day_number=row.day_number,
        local_date=planned_on,
        window_start=row.window_start,
        window_end=row.window_end,
    )
    refusal = client_move_refusal(place, day, kind=kind, week_start=calendar.week_start)
    if refusal:
        raise InvalidMove.at("#/local_date", refusal)
    row.local_date = day
    row.moved_from = None if day == planned_on else planned_on
    if kind == "fixed_days":
        row.window_start = row.window_end = day


def _move_anywhere(row: PlannedSession, day: date, kind: Kind, calendar: BusinessCalendar) -> None:
    last = PlannedSession.objects.filter(assignment_id=row.assignment_id).aggregate(last=Max("window_end"))["last"]
    latest = last + timedelta(days=PAST_THE_END_DAYS)
    if day > latest:
        raise InvalidMove.at("#/local_date", f"The program ends on {last}; choose {latest} or earlier.")
    row.local_date, row.moved_from = day, None
    if kind == "fixed_days":
        row.window_start = row.window_end = day
    elif not row.window_start <= day <= row.window_end:
        row.window_start, row.window_end = business_week(day, calendar.week_start)
