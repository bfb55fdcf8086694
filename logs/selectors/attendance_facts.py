"""Rows to what the rules read of attendance and load; a fixed number of queries whatever the number of clients."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final, cast
from uuid import UUID

from django.db import connection

from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence
from coaching.tenancy.scope import current_business_id
from logs.analysis.adherence import NEUTRAL_STATES
from logs.analysis.attendance import ATTENDED_STATES, AttendedSession, FloatingWeek
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.load_jumps import LoadJumpPolicy, WeekLoad
from logs.analysis.planned_builds import PlannedWeek, planned_builds
from logs.models import ClientWeek
from programs.models import Assignment, AssignmentPause, AssignmentState, CalendarKind, PlannedSession
from programs.prescription.session_states import State
from programs.selectors.assignments import pause_spans

_SESSIONS_DAYS: Final = 56
_CONTACTS_DAYS: Final = 84
# A baseline's weeks, the week compared with them, and the present one.
_WEEKS: Final = LoadJumpPolicy().look_back_weeks + 2
_OLDEST: Final = timedelta(days=max(_SESSIONS_DAYS, _CONTACTS_DAYS, _WEEKS * DAYS_PER_WEEK))

# Of what lies further back only the last day counts, so that a long silence is told from none ever heard of.
_CONTACTS: Final = """
SELECT c.client_id, d.local_date FROM unnest(%(clients)s::uuid[], %(since)s::date[]) AS c (client_id, since)
CROSS JOIN LATERAL (
  SELECT local_date FROM logs_sessionlog WHERE business_id = %(business)s AND client_id = c.client_id
    AND local_date >= c.since AND deleted_at IS NULL
  UNION SELECT local_date FROM logs_checkin WHERE business_id = %(business)s AND client_id = c.client_id
    AND local_date >= c.since AND deleted_at IS NULL
  UNION (SELECT local_date FROM logs_sessionlog WHERE business_id = %(business)s AND client_id = c.client_id
    AND local_date < c.since AND deleted_at IS NULL ORDER BY local_date DESC LIMIT 1)
  UNION (SELECT local_date FROM logs_checkin WHERE business_id = %(business)s AND client_id = c.client_id
    AND local_date < c.since AND deleted_at IS NULL ORDER BY local_date DESC LIMIT 1)
) d
"""
_PLANNED_WEEKS: Final = """
SELECT client_id, local_date - (extract(isodow FROM local_date)::int - 1 - %(week_start)s + %(days)s) %% %(days)s,
  sum(planned_work_sets), bool_or(deload)
FROM programs_plannedsession
WHERE business_id = %(business)s AND client_id = ANY (%(clients)s) AND local_date BETWEEN %(since)s AND %(until)s
  AND state <> ALL (%(neutral)s)
GROUP BY 1, 2
"""


@dataclass(slots=True)
class Attendance:
    """What is known of one client's coming and staying away."""

    sessions: list[AttendedSession] = field(default_factory=list)
    floating_weeks: list[FloatingWeek] = field(default_factory=list)
    absences: list[DateSpan] = field(default_factory=list)
    pauses: list[DateSpan] = field(default_factory=list)
    start_date: date | None = None
    contact_dates: list[date] = field(default_factory=list)
    weeks: list[WeekLoad] = field(default_factory=list)


def attendance_facts(*, days: Mapping[UUID, date], week_start: int) -> dict[UUID, Attendance]:
    """Read what the rules need of each client.

    Args:
        days: each client's local date of today.
        week_start: the business's first weekday.
    """
    found = {client_id: Attendance() for client_id in days}
    if not found:
        return found
    _add_sessions(found, days)
    _add_absences(found, days)
    _add_programs(found)
    _add_contacts(found, days)
    _add_weeks(found, days, week_start)
    return found


def _add_sessions(found: Mapping[UUID, Attendance], days: Mapping[UUID, date]) -> None:
    floating: defaultdict[tuple[UUID, UUID, date, date], list[str]] = defaultdict(list)
    first, last = min(days.values()) - timedelta(days=_SESSIONS_DAYS), max(days.values())
    rows = PlannedSession.objects.filter(client_id__in=list(days), local_date__range=(first, last)).values_list(
        "client_id",
        "id",
        "local_date",
        "state",
        "assignment__calendar",
        "assignment_id",
        "window_start",
        "window_end",
    )
    for client_id, session_id, local_date, state, calendar, assignment_id, window_start, window_end in rows:
        if calendar == CalendarKind.ANY_DAYS_IN_WEEK:
            floating[client_id, assignment_id, window_start, window_end].append(state)
        else:
            session = AttendedSession(identity=str(session_id), local_date=local_date, state=cast("State", state))
            found[client_id].sessions.append(session)
    for (client_id, _assignment, window_start, window_end), states in floating.items():
        # Until its grace has passed, a session that nobody logged is still to come.
        over = window_end < days[client_id] and "planned" not in states
        due = sum(state not in NEUTRAL_STATES for state in states)
        attended = sum(state in ATTENDED_STATES for state in states)
        week = FloatingWeek(week_start=window_start, due=due, attended=attended, over=over)
        found[client_id].floating_weeks.append(week)


def _add_absences(found: Mapping[UUID, Attendance], days: Mapping[UUID, date]) -> None:
    rows = Absence.objects.filter(client_id__in=list(days), ends_on__gte=min(days.values()) - _OLDEST)
    for client_id, starts_on, ends_on in rows.values_list("client_id", "starts_on", "ends_on"):
        found[client_id].absences.append(DateSpan(starts_on, ends_on))


def _add_programs(found: Mapping[UUID, Attendance]) -> None:
    running = Assignment.objects.filter(client_id__in=list(found)).exclude(state=AssignmentState.ENDED)
    owners: dict[UUID, UUID] = {}
    for assignment_id, client_id, start_date in running.values_list("id", "client_id", "start_date"):
        owners[assignment_id] = client_id
        own = found[client_id]
        own.start_date = start_date if own.start_date is None else min(own.start_date, start_date)
    pauses = AssignmentPause.objects.filter(assignment_id__in=list(owners))
    for assignment_id, spans in pause_spans(pauses).items():
        found[owners[assignment_id]].pauses.extend(spans)


def _add_contacts(found: Mapping[UUID, Attendance], days: Mapping[UUID, date]) -> None:
    since = [day - timedelta(days=_CONTACTS_DAYS) for day in days.values()]
    for client_id, local_date in _rows(_CONTACTS, clients=list(days), since=since):
        found[client_id].contact_dates.append(local_date)


def _add_weeks(found: Mapping[UUID, Attendance], days: Mapping[UUID, date], week_start: int) -> None:
    since, until = min(days.values()) - timedelta(days=_WEEKS * DAYS_PER_WEEK), max(days.values())
    planned: defaultdict[UUID, list[PlannedWeek]] = defaultdict(list)
    for client_id, week, work_sets, deload in _rows(
        _PLANNED_WEEKS,
        clients=list(days),
        since=since,
        until=until + timedelta(days=DAYS_PER_WEEK),
        neutral=sorted(NEUTRAL_STATES),
        week_start=week_start,
        days=DAYS_PER_WEEK,
    ):
        planned[client_id].append(PlannedWeek(week_start=week, work_sets=work_sets, deload=deload))
    builds = {client_id: planned_builds(weeks) for client_id, weeks in planned.items()}
    rows = ClientWeek.objects.filter(client_id__in=list(days), week_start__range=(since, until))
    for client_id, week, load, unknown, deload in rows.values_list(
        "client_id", "week_start", "session_load", "days_unknown", "deload"
    ):
        own = found[client_id]
        own.weeks.append(
            WeekLoad(
                week_start=week,
                session_load=load,
                days_unknown=unknown,
                over=week + timedelta(days=DAYS_PER_WEEK) <= days[client_id],
                deload=deload,
                planned_build=week in builds.get(client_id, frozenset()),
                absent=_touches(week, [*own.absences, *own.pauses]),
            )
        )


def _touches(week: date, spans: Iterable[DateSpan]) -> bool:
    last = week + timedelta(days=DAYS_PER_WEEK - 1)
    return any(span.first <= last and (span.last is None or span.last >= week) for span in spans)


def _rows(statement: str, **parameters: Any) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, {"business": current_business_id(), **parameters})
        return list(cursor.fetchall())
