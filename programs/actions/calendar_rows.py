"""Lock planned sessions, change them in memory, and write what changed in one statement.

Whatever changes a session's date or state makes its week stale, and a day that it moved to may lie in travels: both
are seen to here, so that no caller forgets.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.models import Q, QuerySet

from coaching import registry
from coaching.actions.stale_weeks import mark_stale
from coaching.models import Client
from coaching.tenancy.scope import current_business_id
from programs.actions.travel_places import settle_places
from programs.models import CalendarKind, PlannedSession, PlannedState
from programs.prescription.calendar import due_at
from programs.selectors.business_calendar import BusinessCalendar

_COLUMNS: Final = {
    "local_date": "date",
    "window_start": "date",
    "window_end": "date",
    "zone": "text",
    "due_at": "timestamptz",
    "state": "text",
    "excuse_reason": "text",
    "absence_id": "uuid",
    "moved_from": "date",
    "performed_on": "date",
    "cut_reason": "text",
    "done_work_sets": "smallint",
    "missed_at": "timestamptz",
}
"""The columns of a planned session that change after it was planned."""

_UPDATE: Final = (
    "UPDATE programs_plannedsession p SET "
    f"{', '.join(f'{name} = v.{name}' for name in _COLUMNS)}, row_version = p.row_version + 1 "
    f"FROM unnest(%s::uuid[], {', '.join(f'%s::{kind}[]' for kind in _COLUMNS.values())}) "
    f"AS v (id, {', '.join(_COLUMNS)}) WHERE p.business_id = %s AND p.id = v.id"
)

Values = tuple[Any, ...]


class LockedSessions:
    """Planned sessions locked for the transaction, as they are being changed.

    Attributes:
        rows: the sessions, in the order of their ids; change their attributes, then `store`.
    """

    def __init__(self, rows: QuerySet[PlannedSession], *, clients_first: bool = False) -> None:
        """Lock sessions; where their days may change, with their clients first."""
        if clients_first:
            lock_clients(rows.order_by().values("client_id"))
        # In one order everywhere, so that two changes of the same sessions can't deadlock.
        locked = rows.select_related("assignment", "client").defer(
            "prescribed", "slot_classes", "set_slots", "set_figures", "set_loads_kg"
        )
        self.rows: list[PlannedSession] = list(locked.order_by("id").select_for_update(of=("self",), no_key=True))
        self._before: dict[UUID, Values] = {row.id: _values(row) for row in self.rows}

    def state_before(self, row: PlannedSession) -> str:
        """Return the state in which a session was locked."""
        state: str = self._before[row.id][_STATE]
        return state

    def store(self, *, calendar: BusinessCalendar, now: datetime) -> list[PlannedSession]:
        """Write the sessions that changed, mark their weeks stale, and return them."""
        changed = [row for row in self.rows if _values(row) != self._before[row.id]]
        if not changed:
            return []
        columns = zip(*(_values(row) for row in changed), strict=True)
        with connection.cursor() as cursor:
            cursor.execute(_UPDATE, [[row.id for row in changed], *map(list, columns), current_business_id()])
        mark_stale(weeks=self._weeks(changed, calendar), now=now)
        moved = [row for row in changed if self._moved(row)]
        for row in moved:
            row.days_changed = True
        settle_places(moved, now=now)
        self._before |= {row.id: _values(row) for row in changed}
        return changed

    def _moved(self, row: PlannedSession) -> bool:
        return _values(row)[_DAYS] != self._before[row.id][_DAYS]

    def _weeks(self, changed: Iterable[PlannedSession], calendar: BusinessCalendar) -> set[tuple[UUID, date]]:
        return {
            (row.client_id, calendar.week_of(day))
            for row in changed
            for day in (
                row.local_date,
                self._before[row.id][_LOCAL_DATE],
                row.performed_on,
                self._before[row.id][_PERFORMED_ON],
            )
            if day is not None
        }


def lock_clients(client_ids: Iterable[UUID] | QuerySet[Any, Any]) -> None:
    """Lock clients until the transaction ends, before any of their sessions.

    Logs lock their clients too, and before what they settle: so no log can pass a change of days by unmatched.
    """
    rows = Client.objects.filter(id__in=client_ids).order_by("id").select_for_update(of=("self",), no_key=True)
    list(rows.values_list("id"))


_DAYS: Final = slice(0, 3)
_STATE: Final = list(_COLUMNS).index("state")
_LOCAL_DATE: Final = list(_COLUMNS).index("local_date")
_PERFORMED_ON: Final = list(_COLUMNS).index("performed_on")


def sessions_from(assignment_id: UUID, from_date: date, *states: str) -> Q:
    """Return the filter of an assignment's sessions from a date on, in the states named."""
    return Q(assignment_id=assignment_id, local_date__gte=from_date, state__in=states)


def set_due(row: PlannedSession, calendar: BusinessCalendar) -> None:
    """Take a session's due instant anew: the end of its window in its zone, plus the grace."""
    row.due_at = due_at(row.window_end, row.zone, calendar.grace_h)


def open_again(row: PlannedSession) -> None:
    """Put a session back to be done: nothing excuses it and nothing was missed."""
    row.state = PlannedState.PLANNED
    row.excuse_reason, row.absence_id, row.missed_at = "", None, None


def announce(changed: Sequence[PlannedSession], now: datetime) -> None:
    """Tell the other apps that these sessions changed."""
    ids = [row.id for row in changed]
    if not ids:
        return
    for changed_sessions in registry.on_planned_sessions_changed:
        changed_sessions(ids, now)
    # What is next in a sequence may be done on any day: its dates follow from what was done.
    announce_days(
        [row.id for row in changed if row.days_changed and row.assignment.calendar != CalendarKind.IN_SEQUENCE], now
    )


def announce_days(session_ids: list[UUID], now: datetime) -> None:
    """Tell the other apps that these sessions are new or may be done on other days."""
    if not session_ids:
        return
    for days_changed in registry.on_session_days_changed:
        days_changed(session_ids, now)


def _values(row: PlannedSession) -> Values:
    return tuple(getattr(row, name) for name in _COLUMNS)
