"""Which planned session an unnamed session log belongs to.

The answer follows from the logs and the calendar alone, never from the order in which they came: sessions
that a log names are taken; then the client's other logs, by date and start, each take the open session
of their date, else the first open one whose window holds it, else the next of a sequence; else they are
extra. A log that comes late can so move a later one on.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import connection

from coaching.tenancy.scope import current_business_id

ClientDay = tuple[str, date]
Span = tuple[str, date, date]


@dataclass(frozen=True, slots=True)
class PlannedPlace:
    """A planned session as the match sees it."""

    id: str
    calendar: str
    window_start: date
    window_end: date
    order: tuple[int, int]
    assigned_from: date

    def rank(self) -> tuple[date, tuple[int, int], str]:
        """Sort by when it is to be done; a sequence by its start, since its windows follow from what was matched."""
        due = self.assigned_from if self.calendar == "in_sequence" else self.window_end
        return (due, self.order, self.id)

    def fit(self, day: date) -> int | None:
        """Say how well a day fits, 0 best; None when it does not."""
        if self.calendar == "in_sequence":
            return 2 if day >= self.assigned_from else None
        if not self.window_start <= day <= self.window_end:
            return None
        return 0 if self.calendar == "fixed_days" else 1


@dataclass(frozen=True, slots=True)
class LoggedPlace:
    """A session log as the match sees it, with the planned session that it has now.

    `settled`: it named that session itself, or lies outside the dates that are matched anew.
    """

    id: str
    local_date: date
    started_at: datetime | None
    external: tuple[str, str]
    planned_id: str | None
    settled: bool

    def order(self) -> tuple[Any, ...]:
        """Sort by date, then start; what is not timed comes last, by identity."""
        return (self.local_date, self.started_at is None, self.started_at or self.local_date, *self.external)


def matches(planned: Sequence[PlannedPlace], logged: Iterable[LoggedPlace]) -> dict[str, str | None]:
    """Match one client's unnamed session logs.

    Args:
        planned: planned sessions whose windows may hold one of the logs.
        logged: all session logs of the dates concerned.

    Returns:
        The planned session of each unnamed log, None for an extra.
    """
    logs = list(logged)
    taken = {log.planned_id for log in logs if log.settled}
    found: dict[str, str | None] = {}
    for log in sorted((log for log in logs if not log.settled), key=LoggedPlace.order):
        fits = [
            (fit, place.rank())
            for place in planned
            if place.id not in taken and (fit := place.fit(log.local_date)) is not None
        ]
        best = min(fits)[1][-1] if fits else None
        found[log.id] = best
        taken.add(best)
    return found


def match_sessions(*, days: Iterable[ClientDay], named: Iterable[str]) -> tuple[set[str], set[ClientDay]]:
    """Match the session logs of some clients' days, and of the windows that those days touch.

    Args:
        days: clients and local dates on which a session log came, changed or went.
        named: planned sessions that such a log names or named.

    Returns:
        The planned sessions whose logs changed by it, and the days of the logs that were moved.
    """
    touched = sorted(set(days))
    if not touched:
        return set(), set()
    spans = _spans(touched, sorted(set(named)))
    planned = _planned_places(spans)
    logged = _logged_places(spans, planned)
    moves: list[tuple[str, str | None]] = []
    affected: set[str] = set()
    moved_days: set[ClientDay] = set()
    for client_id, logs in logged.items():
        found = matches(planned.get(client_id, []), logs)
        for log in logs:
            if log.id in found and found[log.id] != log.planned_id:
                moves.append((log.id, found[log.id]))
                affected |= {one for one in (log.planned_id, found[log.id]) if one is not None}
                moved_days.add((client_id, log.local_date))
    _store(moves)
    return affected, moved_days


def _spans(days: Sequence[ClientDay], named: Sequence[str]) -> list[Span]:
    """Return the dates whose logs may change their match: the days, and the windows that hold one of them."""
    with connection.cursor() as cursor:
        cursor.execute(
            "WITH day AS (SELECT * FROM unnest(%(clients)s::uuid[], %(dates)s::date[]) AS t (client_id, local_date))"
            "SELECT client_id, local_date, local_date FROM day UNION"
            " SELECT p.client_id, CASE WHEN a.calendar = 'in_sequence' THEN a.start_date ELSE p.window_start END,"
            "  CASE WHEN a.calendar = 'in_sequence' THEN '9999-12-31' ELSE p.window_end END"
            " FROM programs_plannedsession p"
            " JOIN programs_assignment a ON a.business_id = p.business_id AND a.id = p.assignment_id"
            " WHERE p.business_id = %(business)s AND p.client_id = ANY(%(clients)s::uuid[])"
            " AND (p.id = ANY(%(named)s::uuid[]) OR a.calendar = 'in_sequence' OR EXISTS (SELECT FROM day"
            "  WHERE day.client_id = p.client_id AND day.local_date BETWEEN p.window_start AND p.window_end))",
            {
                "clients": [client_id for client_id, _ in days],
                "dates": [local_date for _, local_date in days],
                "named": list(named),
                "business": current_business_id(),
            },
        )
        return sorted((str(client_id), first, last) for client_id, first, last in cursor.fetchall())


def _planned_places(spans: Sequence[Span]) -> dict[str, list[PlannedPlace]]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT DISTINCT p.client_id, p.id, a.calendar, p.window_start, p.window_end, p.week_number,"
            " p.day_number, a.start_date FROM unnest(%(clients)s::uuid[], %(firsts)s::date[], %(lasts)s::date[])"
            "  AS span (client_id, first, last)"
            " JOIN programs_plannedsession p ON p.business_id = %(business)s AND p.client_id = span.client_id"
            " JOIN programs_assignment a ON a.business_id = p.business_id AND a.id = p.assignment_id"
            " WHERE a.calendar = 'in_sequence' OR (p.window_start <= span.last AND p.window_end >= span.first)",
            {"business": current_business_id(), **_columns(spans)},
        )
        rows = cursor.fetchall()
    places: dict[str, list[PlannedPlace]] = {}
    for client_id, planned_id, calendar, first, last, week, day, assigned_from in rows:
        place = PlannedPlace(str(planned_id), calendar, first, last, (week, day), assigned_from)
        places.setdefault(str(client_id), []).append(place)
    return places


def _logged_places(spans: Sequence[Span], planned: dict[str, list[PlannedPlace]]) -> dict[str, list[LoggedPlace]]:
    """Read the session logs of the spans, and those that hold one of the planned sessions from outside them."""
    with connection.cursor() as cursor:
        cursor.execute(
            "WITH inside AS (SELECT DISTINCT l.id"
            "  FROM unnest(%(clients)s::uuid[], %(firsts)s::date[], %(lasts)s::date[])"
            "   AS span (client_id, first, last) JOIN logs_sessionlog l ON l.business_id = %(business)s"
            "   AND l.client_id = span.client_id AND l.local_date BETWEEN span.first AND span.last),"
            " held AS (SELECT l.id FROM logs_sessionlog l WHERE l.business_id = %(business)s"
            "   AND l.planned_session_id = ANY(%(planned)s::uuid[]))"
            "SELECT s.client_id, s.id, s.local_date, s.started_at, s.source, s.external_id, s.planned_session_id,"
            " s.planned_session_named OR inside.id IS NULL"
            " FROM (SELECT id FROM inside UNION SELECT id FROM held) AS found"
            " JOIN logs_sessionlog s ON s.business_id = %(business)s AND s.id = found.id"
            " LEFT JOIN inside ON inside.id = s.id WHERE s.deleted_at IS NULL",
            {
                "business": current_business_id(),
                "planned": [place.id for places in planned.values() for place in places],
                **_columns(spans),
            },
        )
        rows = cursor.fetchall()
    logged: dict[str, list[LoggedPlace]] = {}
    for client_id, log_id, local_date, started_at, source, external_id, planned_id, settled in rows:
        held = None if planned_id is None else str(planned_id)
        log = LoggedPlace(str(log_id), local_date, started_at, (source, external_id), held, settled)
        logged.setdefault(str(client_id), []).append(log)
    return logged


def _columns(spans: Sequence[Span]) -> dict[str, list[Any]]:
    return {
        "clients": [client_id for client_id, _, _ in spans],
        "firsts": [first for _, first, _ in spans],
        "lasts": [last for _, _, last in spans],
    }


def _store(moves: Sequence[tuple[str, str | None]]) -> None:
    if not moves:
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE logs_sessionlog s SET planned_session_id = m.planned_id"
            " FROM unnest(%s::uuid[], %s::uuid[]) AS m (id, planned_id)"
            " WHERE s.business_id = %s AND s.id = m.id",
            [[log_id for log_id, _ in moves], [planned for _, planned in moves], current_business_id()],
        )
