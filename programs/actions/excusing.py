"""Excuse the sessions that absences leave no day for, and give back those that they no longer take."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final
from uuid import UUID

from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence, AbsenceTreatment
from programs.actions.calendar_rows import open_again
from programs.models import CalendarKind, PlannedSession, PlannedState

_OPEN: Final = frozenset({PlannedState.PLANNED, PlannedState.MISSED})
_PERFORMED: Final = frozenset({PlannedState.STARTED, PlannedState.DONE, PlannedState.PART_DONE, PlannedState.DONE_LATE})


def excuse_absent(rows: Sequence[PlannedSession], *, client_id: UUID, without: UUID | None = None) -> None:
    """Excuse and give back a client's locked sessions, in memory, by the client's absences of now.

    A session on a fixed day is excused if the client is away on it; of a week's sessions the last ones are,
    where fewer days are free than sessions remain. Sessions in sequence are not for this.

    Args:
        rows: the sessions; all of a week where the calendar is by weeks.
        client_id: whose.
        without: an absence about to be removed.
    """
    _excuse_by(rows, {client_id: _absences(rows, [client_id], without)})


def excuse_absent_clients(rows: Sequence[PlannedSession]) -> None:
    """Excuse and give back locked sessions of many clients, as `excuse_absent` does, in one query."""
    _excuse_by(rows, _by_client(_absences(rows, sorted({row.client_id for row in rows}), None)))


def _absences(rows: Sequence[PlannedSession], client_ids: Sequence[UUID], without: UUID | None) -> list[Absence]:
    if not rows:
        return []
    absences = Absence.objects.filter(
        client_id__in=client_ids,
        treatment=AbsenceTreatment.PAUSE,
        starts_on__lte=max(row.window_end for row in rows),
        ends_on__gte=min(row.window_start for row in rows),
    )
    return [absence for absence in absences.order_by("starts_on", "id") if absence.id != without]


def _by_client(absences: Sequence[Absence]) -> dict[UUID, list[Absence]]:
    found: dict[UUID, list[Absence]] = defaultdict(list)
    for absence in absences:
        found[absence.client_id].append(absence)
    return found


def _excuse_by(rows: Sequence[PlannedSession], standing: Mapping[UUID, Sequence[Absence]]) -> None:
    for window in _windows(rows):
        _excuse(window, standing.get(window[0].client_id, ()))


def taken_by_absence(row: PlannedSession) -> bool:
    """Say whether it is excused by an absence, not by a person."""
    return row.state == PlannedState.EXCUSED and row.absence_id is not None


def _windows(rows: Sequence[PlannedSession]) -> list[list[PlannedSession]]:
    windows: dict[tuple[UUID, date], list[PlannedSession]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: (row.week_number, row.day_number)):
        # A week's sessions are due together; a fixed day stands alone.
        fixed = row.assignment.calendar == CalendarKind.FIXED_DAYS
        windows[row.assignment_id, row.local_date if fixed else row.window_end].append(row)
    return list(windows.values())


def _excuse(rows: Sequence[PlannedSession], absences: Sequence[Absence]) -> None:
    first, last = min(row.window_start for row in rows), max(row.window_end for row in rows)
    taking = [absence for absence in absences if absence.starts_on <= last and absence.ends_on >= first]
    open_rows = [row for row in rows if row.state in _OPEN or taken_by_absence(row)]
    kept = len(rows)
    if taking:
        kept = _free_days(first, last, taking) - sum(row.state in _PERFORMED for row in rows)
    for position, row in enumerate(open_rows):
        if position >= kept:
            _take(row, taking)
        elif taken_by_absence(row):
            open_again(row)


def _take(row: PlannedSession, taking: Sequence[Absence]) -> None:
    if taken_by_absence(row) and row.absence_id in {absence.id for absence in taking}:
        return
    row.state, row.missed_at = PlannedState.EXCUSED, None
    row.absence_id, row.excuse_reason = taking[0].id, f"Away: {taking[0].kind}."


def _free_days(first: date, last: date, absences: Sequence[Absence]) -> int:
    spans = [DateSpan(absence.starts_on, absence.ends_on) for absence in absences]
    days = (date.fromordinal(number) for number in range(first.toordinal(), last.toordinal() + 1))
    return sum(not any(day in span for span in spans) for day in days)
