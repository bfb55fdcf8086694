"""Give one version to many clients in one call."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final, cast
from uuid import UUID

from coaching.actions.stale_weeks import mark_stale
from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence, Client, ClientState
from coaching.policy import Principal
from coaching.refusals import Conflict
from programs.actions.assignment_results import AssignmentResult, AssignmentTerms, ClientStart
from programs.actions.calendar_rows import announce_days
from programs.actions.session_plans import ClientReferences, SessionRows, Snapshots, VersionPlan
from programs.actions.travel_places import plan_places
from programs.models import Assignment, AssignmentVersion, Version, VersionState
from programs.prescription.calendar import (
    CalendarKind,
    CalendarTerms,
    PlannedDate,
    calendar_conflict,
    planned_dates,
)
from programs.prescription.snapshot import MissingReference, reference_exercises
from programs.selectors.assignments import clients_to_assign, pausing_absences, running_until
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar
from programs.selectors.prescriptions import stored_content
from programs.selectors.programs import get_version_named
from programs.selectors.reference_loads import latest_reference_loads
from programs.selectors.substitutes import ClientFit
from programs.selectors.timelines import business_timelines

BACKDATED_DAYS: Final = 182
"""A start may lie this many days back: a business that moves in brings programs under way. Practice."""


class NotAssignable(Conflict):
    """Only a published version of a program in use is assigned."""

    code = "not_assignable"


@dataclass(frozen=True, slots=True)
class _Ready:
    client: Client
    assignment: Assignment
    dates: list[PlannedDate]


@dataclass(frozen=True, slots=True)
class _Ground:
    """What the whole call stands on, read once."""

    version: Version
    plan: VersionPlan
    calendar: BusinessCalendar
    clients: Mapping[UUID, Client]
    running: Mapping[UUID, date]
    absences: Mapping[UUID, Sequence[Absence]]
    references: Mapping[UUID, ClientReferences]


def assign_version(
    *,
    actor: Principal,
    version_id: UUID,
    terms: AssignmentTerms,
    clients: Sequence[ClientStart],
    now: datetime,
) -> list[AssignmentResult]:
    """Plan a published version's sessions for each client, in a constant number of statements.

    A client who can't take it is told why; the others are assigned all the same.

    Args:
        actor: who assigns; only clients whom they may see are taken.
        version_id: the version.
        terms: calendar, start and weekdays of all.
        clients: who, with what differs.
        now: decides what lies in the past.

    Returns:
        One result per entry, in the order given.

    Raises:
        UnknownObject: no such version.
        NotAssignable: it is not published, or its program is archived.
    """
    ground = _ground(actor, version_id, terms, clients, now)
    results: list[AssignmentResult | _Ready] = []
    taken: set[UUID] = set()
    for start in clients:
        found = _prepare(start, terms, ground, taken, now)
        if isinstance(found, _Ready):
            taken.add(start.client_id)
        results.append(found)
    ready = [found for found in results if isinstance(found, _Ready)]
    missing = _store(ready, ground, now)
    fit = ground.plan.fit(found.client for found in ready)
    return [
        _result(found, missing[found.assignment.id], fit[found.client.id]) if isinstance(found, _Ready) else found
        for found in results
    ]


def _ground(
    actor: Principal,
    version_id: UUID,
    terms: AssignmentTerms,
    clients: Sequence[ClientStart],
    now: datetime,
) -> _Ground:
    version = get_version_named(version_id=version_id, pointer="#/version")
    if version.state != VersionState.PUBLISHED:
        raise NotAssignable(f"Version {version.number} is {version.state}; publish one, then assign that.")
    if version.variant.program.archived:
        raise NotAssignable("The program is archived; take it out of the archive to assign it.")
    content, facts = stored_content(version)
    gone = sorted(content.exercises - facts.keys())
    if gone:
        raise NotAssignable(f"The catalogue no longer has {', '.join(gone)}; publish a version without it.")
    plan = VersionPlan.of(version.id, content, facts, business_timelines().gym)
    visible = clients_to_assign(actor=actor, client_ids=[start.client_id for start in clients])
    starts = [start.start_date or terms.start_date for start in clients]
    needed = {key for day in plan.days.values() for key in reference_exercises(day.session)}
    return _Ground(
        version=version,
        plan=plan,
        calendar=get_business_calendar(),
        clients=visible,
        running=running_until(variant_id=version.variant_id, client_ids=visible),
        absences=pausing_absences(client_ids=visible, first=min(starts)),
        references=latest_reference_loads(
            client_ids=visible, exercise_keys=needed, until=now.date() + timedelta(days=1)
        ),
    )


def _prepare(
    start: ClientStart, terms: AssignmentTerms, ground: _Ground, taken: set[UUID], now: datetime
) -> AssignmentResult | _Ready:
    client = ground.clients.get(start.client_id)
    if client is None:
        return AssignmentResult(
            start.client_id, "refused", "unknown_object", "There is no client with this id that you may see."
        )
    start_date = start.start_date or terms.start_date
    own = CalendarTerms(
        kind=cast("CalendarKind", terms.calendar),
        start_date=start_date,
        week_start=ground.calendar.week_start,
        weekdays=tuple(sorted(_weekdays(start, terms, client))),
        late_after_days=terms.late_after_days,
    )
    for code, detail in _conflicts(client, own, ground, taken, now):
        return AssignmentResult(client.id, "conflict", code, detail)
    absences = [DateSpan(row.starts_on, row.ends_on) for row in ground.absences.get(client.id, ())]
    assignment = Assignment(
        client=client,
        variant_id=ground.version.variant_id,
        calendar=terms.calendar,
        weekdays=list(own.weekdays),
        start_date=start_date,
        late_after_days=terms.late_after_days if terms.calendar == "in_sequence" else None,
        alerts_from=None if terms.alert_past else now,
    )
    return _Ready(client, assignment, planned_dates(ground.plan.weeks, own, absences=absences))


def _weekdays(start: ClientStart, terms: AssignmentTerms, client: Client) -> Sequence[int]:
    if terms.calendar != "fixed_days":
        return ()
    for chosen in (start.weekdays, terms.weekdays):
        if chosen is not None:
            return chosen
    return client.weekdays


def _conflicts(
    client: Client, own: CalendarTerms, ground: _Ground, taken: set[UUID], now: datetime
) -> Iterator[tuple[str, str]]:
    if client.id in taken:
        yield "named_twice", "This client stands in the list twice; the first entry was taken."
    if client.state == ClientState.ENDED:
        yield "client_ended", f"{client.name} is no longer coached; set the client's state to active first."
    earliest = ground.calendar.today(now, client.time_zone) - timedelta(days=BACKDATED_DAYS)
    if own.start_date < earliest:
        yield (
            "start_in_past",
            f"The start, {own.start_date}, lies more than {BACKDATED_DAYS} days back; choose {earliest} or later.",
        )
    last = ground.running.get(client.id)
    if last is not None and last >= own.start_date:
        yield (
            "already_assigned",
            f"{client.name} follows this variant already, until {last}; end that assignment, or start after it.",
        )
    calendar_fault = calendar_conflict(ground.plan.weeks, own)
    if calendar_fault:
        yield "calendar_conflict", calendar_fault


def _store(ready: Sequence[_Ready], ground: _Ground, now: datetime) -> dict[UUID, tuple[MissingReference, ...]]:
    if not ready:
        return {}
    Assignment.objects.bulk_create([found.assignment for found in ready])
    AssignmentVersion.objects.bulk_create(
        [
            AssignmentVersion(
                assignment=found.assignment, version=ground.version, from_date=found.assignment.start_date
            )
            for found in ready
        ]
    )
    rows = SessionRows(Snapshots(ground.plan), ground.calendar.grace_h)
    missing = {
        found.assignment.id: rows.add(
            assignment_id=found.assignment.id,
            client=found.client,
            dates=found.dates,
            references=ground.references.get(found.client.id, {}),
            absences=ground.absences.get(found.client.id, ()),
        )
        for found in ready
    }
    rows.insert()
    plan_places([found.client.id for found in ready], now=now)
    weeks = {(found.client.id, ground.calendar.week_of(place.local_date)) for found in ready for place in found.dates}
    mark_stale(weeks=weeks, now=now)
    announce_days(rows.session_ids, now)
    return missing


def _result(found: _Ready, missing: tuple[MissingReference, ...], fit: ClientFit) -> AssignmentResult:
    dates = [place.local_date for place in found.dates]
    return AssignmentResult(
        found.client.id,
        "assigned",
        assignment_id=found.assignment.id,
        session_count=len(dates),
        first_date=min(dates),
        last_date=max(dates),
        needs_reference=missing,
        warnings=fit.warnings,
        conflicts=fit.conflicts,
    )
