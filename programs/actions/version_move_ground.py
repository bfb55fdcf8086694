"""What a move to another version stands on, read once for all its assignments; and why one can't be moved."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import cast
from uuid import UUID

from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence
from coaching.policy import Principal
from programs.actions.calendar_rows import LockedSessions
from programs.actions.session_plans import VersionPlan
from programs.actions.version_move_results import VersionMove
from programs.models import (
    Assignment,
    AssignmentPause,
    AssignmentState,
    AssignmentVersion,
    CalendarKind,
    PlannedSession,
    PlannedState,
    Version,
)
from programs.prescription.calendar import CalendarKind as Kind
from programs.prescription.calendar import CalendarTerms, DayKey, PlannedDate, ProgramWeek, calendar_conflict
from programs.prescription.version_move import dates_after_move
from programs.selectors.assignments import pause_spans, pausing_absences, visible_assignments
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar


@dataclass(frozen=True, slots=True)
class MoveGround:
    """The assignments and all that they stand on; `sessions` holds every session of them, locked."""

    version: Version
    plan: VersionPlan
    calendar: BusinessCalendar
    now: datetime
    assignments: Mapping[UUID, Assignment]
    sessions: LockedSessions
    rows: Mapping[UUID, Sequence[PlannedSession]]
    followed: Mapping[UUID, Sequence[AssignmentVersion]]
    pauses: Mapping[UUID, Sequence[DateSpan]]
    absences: Mapping[UUID, Sequence[Absence]]

    def first_date(self, move: VersionMove) -> date:
        """Return the local date from which the version holds: not before the assignment's first."""
        return max(move.from_date, self.assignments[move.assignment_id].start_date)

    def to_come(self, move: VersionMove) -> list[PlannedSession]:
        """Return the sessions that the move writes anew or takes off."""
        first = self.first_date(move)
        return [
            row
            for row in self.rows[move.assignment_id]
            if row.state == PlannedState.PLANNED and row.local_date >= first
        ]

    def terms(self, move: VersionMove) -> CalendarTerms:
        """Return how the client follows the program until now."""
        assignment = self.assignments[move.assignment_id]
        return CalendarTerms(
            kind=cast("Kind", assignment.calendar),
            start_date=assignment.start_date,
            week_start=self.calendar.week_start,
            weekdays=tuple(assignment.weekdays),
            late_after_days=assignment.late_after_days,
        )

    def weekdays(self, move: VersionMove) -> tuple[int, ...]:
        """Return the weekdays from the move on."""
        chosen = self.assignments[move.assignment_id].weekdays if move.weekdays is None else move.weekdays
        return tuple(sorted(chosen))

    def laid(self, move: VersionMove) -> dict[DayKey, PlannedDate]:
        """Return where every day of the new version falls."""
        rows = self.rows[move.assignment_id]
        first = self.first_date(move)
        standing = [row for row in rows if row.window_end >= first] or rows
        client_id = self.assignments[move.assignment_id].client_id
        return dates_after_move(
            self.plan.weeks,
            self.terms(move),
            weekdays=self.weekdays(move),
            followed=_weeks(rows),
            standing={(row.week_number, row.day_number): row.window_end for row in standing},
            pauses=self.pauses.get(move.assignment_id, ()),
            absences=[DateSpan(row.starts_on, row.ends_on) for row in self.absences.get(client_id, ())],
        )


def read_ground(
    actor: Principal, version: Version, plan: VersionPlan, moves: Sequence[VersionMove], now: datetime
) -> MoveGround:
    """Lock the assignments that the actor may see, with their sessions, and read the rest; in constant statements."""
    locked = (
        visible_assignments(actor)
        .select_related("client", "variant")
        .filter(id__in={move.assignment_id for move in moves})
        .order_by("id")
        .select_for_update(of=("self", "client"), no_key=True)
    )
    assignments = {row.id: row for row in locked}
    sessions = LockedSessions(PlannedSession.objects.filter(assignment_id__in=list(assignments)))
    rows: dict[UUID, list[PlannedSession]] = defaultdict(list)
    for row in sessions.rows:
        rows[row.assignment_id].append(row)
    followed: dict[UUID, list[AssignmentVersion]] = defaultdict(list)
    for given in AssignmentVersion.objects.filter(assignment_id__in=list(assignments)).order_by("from_date"):
        followed[given.assignment_id].append(given)
    return MoveGround(
        version=version,
        plan=plan,
        calendar=get_business_calendar(),
        now=now,
        assignments=assignments,
        sessions=sessions,
        rows=rows,
        followed=followed,
        pauses=pause_spans(AssignmentPause.objects.filter(assignment_id__in=list(assignments))),
        absences=pausing_absences(
            client_ids={row.client_id for row in assignments.values()}, first=min(move.from_date for move in moves)
        ),
    )


def move_conflicts(move: VersionMove, ground: MoveGround, taken: Collection[UUID]) -> Iterator[tuple[str, str]]:
    """Say why an assignment that is there can't be moved: code, and a sentence that says what to change."""
    assignment = ground.assignments[move.assignment_id]
    if assignment.id in taken:
        yield "named_twice", "This assignment stands in the list twice; the first entry was taken."
    if assignment.variant_id != ground.version.variant_id:
        yield (
            "other_variant",
            f"The version is of another variant than {assignment.variant.name}; end the assignment and give that one.",
        )
    if assignment.state != AssignmentState.ACTIVE:
        verb = "assign the program anew" if assignment.state == AssignmentState.ENDED else "resume it first"
        yield "not_active", f"The assignment is {assignment.state}; {verb}."
    today = ground.calendar.today(ground.now, assignment.client.time_zone)
    if move.from_date < today:
        yield (
            "date_in_past",
            f"{move.from_date} lies in the client's past, which never changes; choose today, {today}, or later.",
        )
    yield from _calendar_conflicts(move, ground, assignment)
    if _follows_already(move, ground):
        yield "same_version", f"The client follows version {ground.version.number} from then on already."


def _calendar_conflicts(move: VersionMove, ground: MoveGround, assignment: Assignment) -> Iterator[tuple[str, str]]:
    if move.weekdays is not None and assignment.calendar != CalendarKind.FIXED_DAYS:
        yield "no_weekdays", f"A calendar {assignment.calendar} has no weekdays; leave them out."
        return
    terms = ground.terms(move)
    own = CalendarTerms(
        kind=terms.kind,
        start_date=terms.start_date,
        week_start=terms.week_start,
        weekdays=ground.weekdays(move),
        late_after_days=terms.late_after_days,
    )
    fault = calendar_conflict(ground.plan.weeks, own)
    if fault:
        hint = " Send the weekdays of the new version with the move." if assignment.calendar == "fixed_days" else ""
        yield "calendar_conflict", f"{fault}{hint}"


def _follows_already(move: VersionMove, ground: MoveGround) -> bool:
    first = ground.first_date(move)
    in_force = [given for given in ground.followed.get(move.assignment_id, ()) if given.from_date <= first]
    later = [given for given in ground.followed.get(move.assignment_id, ()) if given.from_date > first]
    return (
        bool(in_force)
        and in_force[-1].version_id == ground.version.id
        and not later
        and ground.weekdays(move) == tuple(sorted(ground.assignments[move.assignment_id].weekdays))
        and all(row.version_id == ground.version.id for row in ground.to_come(move))
    )


def _weeks(rows: Sequence[PlannedSession]) -> list[ProgramWeek]:
    days: dict[int, list[int]] = defaultdict(list)
    for week_number, day_number in sorted((row.week_number, row.day_number) for row in rows):
        days[week_number].append(day_number)
    return [
        ProgramWeek(week_number=week, day_numbers=tuple(days.get(week, ())))
        for week in range(1, max(days, default=0) + 1)
    ]
