"""Settle planned sessions by what was logged for them. `logs` calls this; `programs` never asks `logs`."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, cast
from uuid import UUID

from django.db.models import OuterRef, Subquery

from programs.actions.calendar_rows import LockedSessions, announce
from programs.actions.sequences import lay_sequences
from programs.models import AssignmentPause, CalendarKind, PlannedSession, PlannedState
from programs.prescription.calendar import CalendarKind as Kind
from programs.prescription.calendar import PlannedAs
from programs.prescription.session_states import (
    PerformedFacts,
    PlannedFacts,
    SessionStatePolicy,
    session_state,
)
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar

CUT_REASON_MAX: Final = 200
"""Characters of a cut reason that the calendar shows; the log keeps all of it."""


@dataclass(frozen=True, slots=True)
class Performance:
    """One session log of a planned session, or, with `performed_on` None, that it has none any more.

    Attributes:
        planned_session_id: the planned session.
        performed_on: the local date that the log belongs to.
        work_sets_done: logged sets that count, done or failed; one set of each side is one.
        finished: whether it has a finish, a duration or a session RPE.
        cut_reason: why it was cut short, in the client's words.
    """

    planned_session_id: UUID
    performed_on: date | None
    work_sets_done: int | None = None
    finished: bool = False
    cut_reason: str = ""


@dataclass(frozen=True, slots=True)
class SettledSession:
    """A planned session whose state was settled anew, with the state before."""

    planned_session_id: UUID
    client_id: UUID
    local_date: date
    state_before: str
    state: str


def record_performance(*, performances: Sequence[Performance], now: datetime) -> list[SettledSession]:
    """Settle each planned session by all of its logs, in a constant number of statements.

    Give every log that a session has now (deleted ones left out), or one `Performance` with `performed_on`
    None for a session that has none: it then goes back to what it was planned as, or is missed once overdue.
    In a sequence the next session opens.

    Args:
        performances: logs by planned session; several of one session are taken together.
        now: decides what is overdue.

    Returns:
        The sessions whose state changed, so that alerts can be withdrawn or made.
    """
    logs: dict[UUID, list[PerformedFacts]] = defaultdict(list)
    for performance in performances:
        taken = logs[performance.planned_session_id]
        if performance.performed_on is not None:
            taken.append(
                PerformedFacts(
                    local_date=performance.performed_on,
                    finished=performance.finished,
                    work_sets=performance.work_sets_done or 0,
                    cut_reason=performance.cut_reason,
                )
            )
    if not logs:
        return []
    calendar = get_business_calendar()
    sessions = LockedSessions(PlannedSession.objects.filter(id__in=list(logs)).annotate(paused_from=_paused_from()))
    states = {row.id: sessions.state_before(row) for row in sessions.rows}
    for row in sessions.rows:
        _settle(row, logs[row.id], calendar, now)
    changed = sessions.store(calendar=calendar, now=now)
    laid = lay_sequences(
        assignment_ids={row.assignment_id for row in changed if row.assignment.calendar == CalendarKind.IN_SEQUENCE},
        calendar=calendar,
        now=now,
    )
    announce([*changed, *laid], now)
    return [
        SettledSession(row.id, row.client_id, row.local_date, states[row.id], row.state)
        for row in changed
        if row.state != states[row.id]
    ]


def _paused_from() -> Subquery:
    open_pauses = AssignmentPause.objects.filter(assignment_id=OuterRef("assignment_id"), resumed_on__isnull=True)
    return Subquery(open_pauses.order_by("from_date").values("from_date")[:1])


def _settle(row: PlannedSession, logs: Sequence[PerformedFacts], calendar: BusinessCalendar, now: datetime) -> None:
    planned = PlannedFacts(
        kind=cast("Kind", row.assignment.calendar),
        local_date=row.local_date,
        window_start=row.window_start,
        window_end=row.window_end,
        work_sets=row.planned_work_sets,
        planned_as=_planned_as(row),
        overdue=row.due_at is not None and row.due_at <= now,
    )
    found = session_state(
        planned,
        logs,
        week_start=calendar.week_start,
        policy=SessionStatePolicy(part_done_under_share=calendar.part_done_below_ratio),
    )
    row.state = found.state
    row.performed_on = found.performed_on
    row.cut_reason = found.cut_reason[:CUT_REASON_MAX]
    row.done_work_sets = found.work_sets if logs else None
    if row.moved_from in (None, row.local_date):
        # Else the client moved it before doing it, and that stays said.
        row.moved_from = found.moved_from
    if found.state == "missed":
        row.missed_at = row.missed_at or now
    else:
        row.missed_at = None


def _planned_as(row: PlannedSession) -> PlannedAs:
    if row.absence_id is not None or row.excuse_reason:
        return "excused"
    paused_from: date | None = getattr(row, "paused_from", None)
    if paused_from is not None and row.local_date >= paused_from:
        return "paused"
    return "paused" if row.state == PlannedState.PAUSED else "planned"
