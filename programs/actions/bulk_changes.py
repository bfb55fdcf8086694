"""Change many clients' sessions in one call: shift, excuse, lighten, swap an exercise, take changes back."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db.models import Max, Min, QuerySet

from coaching.measures.constants import DAYS_PER_WEEK
from coaching.models import Client
from coaching.policy import Principal, client_rows
from coaching.refusals import Fault, Invalid, UnknownObject
from programs.actions.assignment_rows import put_later
from programs.actions.bulk_change_results import (
    BulkChange,
    BulkResult,
    Excuse,
    MakeDeload,
    SessionsWanted,
    Shift,
    Swap,
    TakeBack,
)
from programs.actions.bulk_content import content_refusal, named_swap, with_change
from programs.actions.calendar_rows import LockedSessions, announce, open_again
from programs.actions.excusing import excuse_absent_clients, taken_by_absence
from programs.actions.prescription_changes import put_change
from programs.actions.sequences import lay_sequences
from programs.actions.session_ground import read_session_ground
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import CalendarKind, PlannedSession, PlannedState
from programs.prescription.session_changes_document import encode_changes, read_changes
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar
from programs.selectors.planned_sessions import visible_planned_sessions

SESSIONS_AT_MOST: Final = 1000
"""Sessions that one call may change. Practice."""

_DONE: Final = frozenset({PlannedState.STARTED, PlannedState.DONE, PlannedState.PART_DONE, PlannedState.DONE_LATE})
_Refusals = dict[UUID, tuple[str, str, str]]


def change_sessions(*, actor: Principal, wanted: SessionsWanted, change: BulkChange, now: datetime) -> list[BulkResult]:
    """Change many sessions, in a constant number of statements; one that can't be changed is told why.

    Args:
        actor: a coach; only sessions of clients whom they may see are changed.
        wanted: which sessions.
        change: what becomes of each.
        now: decides what lies in the past.

    Returns:
        One result per session: in the order of the ids given, else by local date.

    Raises:
        UnknownObject: a client that the actor may not see.
        Invalid: more sessions than one call may change.
        InvalidPrescription: no such exercise.
    """
    ids = _ids(actor, wanted)
    calendar = get_business_calendar()
    if isinstance(change, Shift | Excuse):
        rows, refusals = _change_days(actor, ids, change, calendar, now)
    else:
        rows, refusals = _change_content(actor, ids, change, now)
    return [_result(session_id, rows.get(session_id), refusals.get(session_id)) for session_id in ids]


def _ids(actor: Principal, wanted: SessionsWanted) -> list[UUID]:
    if wanted.session_ids is not None:
        return list(dict.fromkeys(wanted.session_ids))
    rows = visible_planned_sessions(actor)
    if wanted.client_ids is not None:
        _check_clients(actor, wanted.client_ids)
        rows = rows.filter(client_id__in=wanted.client_ids)
    if wanted.first is not None:
        rows = rows.filter(local_date__gte=wanted.first)
    if wanted.last is not None:
        rows = rows.filter(local_date__lte=wanted.last)
    ids = list(rows.order_by("local_date", "id").values_list("id", flat=True)[: SESSIONS_AT_MOST + 1])
    if len(ids) > SESSIONS_AT_MOST:
        raise Invalid.at("#/to_date", f"These are more than {SESSIONS_AT_MOST} sessions; narrow the days or clients.")
    return ids


def _check_clients(actor: Principal, client_ids: Sequence[UUID]) -> None:
    seen = set(Client.objects.filter(client_rows(actor, ""), id__in=client_ids).values_list("id", flat=True))
    faults = [
        Fault(f"#/clients/{index}", UnknownObject.code, "There is no client with this id that you may see.")
        for index, client_id in enumerate(client_ids)
        if client_id not in seen
    ]
    if faults:
        raise UnknownObject(faults[0].detail, faults=faults)


def _result(session_id: UUID, row: PlannedSession | None, refusal: tuple[str, str, str] | None) -> BulkResult:
    if row is None:
        sentence = "There is no planned session with this id that you may see."
        return BulkResult(session_id, "refused", "unknown_object", sentence)
    if refusal is None:
        return BulkResult(session_id, "changed", client_id=row.client_id, local_date=row.local_date)
    outcome, code, detail = refusal
    told = BulkResult(session_id, "conflict", code, detail, row.client_id, row.local_date)
    return replace(told, outcome="unchanged") if outcome == "unchanged" else told


def _change_days(
    actor: Principal, ids: Sequence[UUID], change: Shift | Excuse, calendar: BusinessCalendar, now: datetime
) -> tuple[Mapping[UUID, PlannedSession], _Refusals]:
    meant = visible_planned_sessions(actor).filter(id__in=ids)
    seen = set(meant.values_list("id", flat=True))
    wanted = _with_their_weeks(meant, change.days) if isinstance(change, Shift) else meant
    sessions = LockedSessions(wanted, clients_first=True)
    rows = {row.id: row for row in sessions.rows if row.id in seen}
    refusals: _Refusals = {}
    for row in rows.values():
        refusal = _day_refusal(row, change, calendar, now)
        if refusal:
            refusals[row.id] = refusal
        elif isinstance(change, Shift):
            _shift(row, change.days, calendar)
        else:
            row.state, row.missed_at, row.absence_id = PlannedState.EXCUSED, None, None
            row.excuse_reason = change.reason or "Excused by the coach."
    moved = [row for row in rows.values() if row.id not in refusals]
    if isinstance(change, Shift):
        excuse_absent_clients(_beside(moved, sessions.rows, change.days))
    changed = sessions.store(calendar=calendar, now=now)
    sequences = {row.assignment_id for row in moved if row.assignment.calendar == CalendarKind.IN_SEQUENCE}
    changed += lay_sequences(assignment_ids=sequences, calendar=calendar, now=now)
    announce(changed, now)
    return rows, refusals


def _with_their_weeks(meant: QuerySet[PlannedSession], days: int) -> QuerySet[PlannedSession]:
    """Return the sessions with those of the weeks that they leave and come to.

    A week's sessions are excused together where an absence leaves too few days.
    """
    ends = meant.aggregate(first=Min("window_end"), last=Max("window_end"))
    if ends["first"] is None:
        return meant
    shift = timedelta(days=days)
    return PlannedSession.objects.filter(
        assignment_id__in=list(meant.values_list("assignment_id", flat=True).distinct()),
        window_end__range=(min(ends["first"], ends["first"] + shift), max(ends["last"], ends["last"] + shift)),
    )


def _day_refusal(
    row: PlannedSession, change: Shift | Excuse, calendar: BusinessCalendar, now: datetime
) -> tuple[str, str, str] | None:
    if row.state in _DONE:
        return "conflict", "session_performed", f"The session is {row.state}: what was done never changes."
    if row.state == PlannedState.PAUSED:
        return "conflict", "session_paused", "A pause holds this session; resume the assignment first."
    if isinstance(change, Shift):
        return _shift_refusal(row, change.days, calendar, now)
    if row.state == PlannedState.EXCUSED and not taken_by_absence(row):
        return "unchanged", "excused_already", f"It is excused already: {row.excuse_reason}"
    return None


def _shift_refusal(
    row: PlannedSession, days: int, calendar: BusinessCalendar, now: datetime
) -> tuple[str, str, str] | None:
    kind = row.assignment.calendar
    if kind == CalendarKind.IN_SEQUENCE:
        return "conflict", "in_sequence", "Sessions in sequence have no fixed day to move; shift the assignment."
    if kind == CalendarKind.ANY_DAYS_IN_WEEK and days % DAYS_PER_WEEK:
        return "conflict", "whole_weeks", "Sessions due by the week's end shift by whole weeks: 7, 14 and so on."
    if row.state == PlannedState.EXCUSED and not taken_by_absence(row):
        return "conflict", "session_excused", "A coach excused this session; give it back first."
    today = calendar.today(now, row.client.time_zone)
    day = row.local_date + timedelta(days=days)
    if day < today:
        return "conflict", "date_in_past", f"It would fall on {day}, before the client's today, {today}."
    return None


def _shift(row: PlannedSession, days: int, calendar: BusinessCalendar) -> None:
    put_later(row, days, calendar)
    if row.state == PlannedState.MISSED:
        open_again(row)


def _beside(moved: Sequence[PlannedSession], rows: Sequence[PlannedSession], days: int) -> list[PlannedSession]:
    """Return the sessions of the windows that were left and come to."""
    windows = {
        (row.assignment_id, day) for row in moved for day in (row.window_end, row.window_end - timedelta(days=days))
    }
    return [row for row in rows if (row.assignment_id, row.window_end) in windows]


def _change_content(
    actor: Principal, ids: Sequence[UUID], change: MakeDeload | Swap | TakeBack, now: datetime
) -> tuple[Mapping[UUID, PlannedSession], _Refusals]:
    sessions = LockedSessions(visible_planned_sessions(actor).filter(id__in=ids))
    named = (change.exercise, change.instead) if isinstance(change, Swap) else ()
    ground = read_session_ground(sessions.rows, until=now.date(), beside=named)
    if isinstance(change, Swap):
        change = named_swap(change, ground)
    refusals: _Refusals = {}
    changed: list[PlannedSession] = []
    for row in sessions.rows:
        refusal = _state_refusal(row) or content_refusal(row, change, ground)
        if refusal:
            refusals[row.id] = refusal
            continue
        row.changes = encode_changes(with_change(read_changes(row.changes), change))
        put_change(row, actor, now)
        changed.append(row)
    rewrite_sessions(changed, now=now)
    return {row.id: row for row in sessions.rows}, refusals


def _state_refusal(row: PlannedSession) -> tuple[str, str, str] | None:
    if row.state in _DONE:
        return "conflict", "session_performed", f"The session is {row.state}: what was done never changes."
    if row.state == PlannedState.MISSED:
        return "conflict", "session_missed", "The session was missed; move it to a day to come first."
    return None
