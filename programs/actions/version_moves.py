"""Move clients to another version of the variant that they follow, from a date on.

What was done and what was due before the date stays; of what is to come, sessions that are `planned` are written
anew. One-off changes and the client's own substitutes hold in the new version too.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.actions.stale_weeks import mark_stale
from coaching.policy import Principal
from coaching.refusals import Conflict, NotFound
from coaching.tenancy.scope import current_business_id
from programs.actions.assignments import NotAssignable
from programs.actions.calendar_rows import LockedSessions, announce, set_due
from programs.actions.excusing import excuse_absent_clients
from programs.actions.sequences import lay_sequences
from programs.actions.session_plans import SessionRows, Snapshots, VersionPlan
from programs.actions.session_rewrites import RewrittenSessions, rewrite_sessions
from programs.actions.travel_places import plan_places
from programs.actions.version_move_ground import MoveGround, move_conflicts, read_ground
from programs.actions.version_move_results import ChangeWithoutPlace, VersionMove, VersionMoveResult
from programs.models import AssignmentVersion, CalendarKind, PlannedSession, PlannedState, Version, VersionState
from programs.prescription.calendar import DayKey, PlannedDate
from programs.prescription.snapshot import MissingReference
from programs.selectors.prescriptions import stored_content
from programs.selectors.programs import get_version_named

_STORE: Final = (
    "UPDATE programs_assignment a SET weekdays = v.weekdays::smallint[], row_version = a.row_version + 1 "
    "FROM unnest(%s::uuid[], %s::text[]) AS v (id, weekdays) WHERE a.business_id = %s AND a.id = v.id"
)


class NotMovable(Conflict):
    """The assignment's state or terms forbid the move."""

    code = "not_movable"


@dataclass(slots=True)
class _Ready:
    """An assignment that is moved: what is written anew, taken off and added."""

    move: VersionMove
    first: date
    laid: Mapping[DayKey, PlannedDate]
    kept: list[PlannedSession]
    surplus: list[PlannedSession]
    added: list[PlannedDate]


@dataclass(frozen=True, slots=True)
class _Written:
    """What was written, and by assignment the reference loads that are missing for it."""

    rewritten: RewrittenSessions
    missing: Mapping[UUID, Mapping[tuple[str, str], MissingReference]]


def move_assignment_to_version(
    *, actor: Principal, version_id: UUID, move: VersionMove, now: datetime
) -> VersionMoveResult:
    """Move one assignment; as `move_to_version` does, but what keeps it from it is raised.

    Raises:
        NotFound: no such assignment that the actor may see.
        UnknownObject: no such version.
        NotAssignable: the version is not published, or its program is archived.
        NotMovable: the assignment's state or terms forbid it; `reason` says which.
    """
    (result,) = move_to_version(actor=actor, version_id=version_id, moves=[move], now=now)
    if result.outcome == "refused":
        raise NotFound(result.detail)
    if result.outcome == "conflict":
        raise NotMovable(result.detail, extra={"reason": result.code})
    return result


def move_to_version(
    *, actor: Principal, version_id: UUID, moves: Sequence[VersionMove], now: datetime
) -> list[VersionMoveResult]:
    """Move many assignments to a published version of their variant, in a constant number of statements.

    Week and day numbers are matched: sessions to come that are `planned` take the new version's content and keep
    their days, unless the weekdays change; those that it does not have come off, and those that it has more are
    added where they fall from the date on.

    Args:
        actor: who moves; only assignments of clients whom they may see are moved.
        version_id: the version.
        moves: the assignments, each with its date.
        now: decides what lies in the past.

    Returns:
        One result per entry, in the order given.

    Raises:
        UnknownObject: no such version.
        NotAssignable: it is not published, or its program is archived.
    """
    version, plan = _version(version_id)
    ground = read_ground(actor, version, plan, moves, now)
    results: list[VersionMoveResult | _Ready] = []
    taken: set[UUID] = set()
    for move in moves:
        found = _prepare(move, ground, taken)
        if isinstance(found, _Ready):
            taken.add(move.assignment_id)
        results.append(found)
    ready = [found for found in results if isinstance(found, _Ready)]
    if not ready:
        return [found for found in results if not isinstance(found, _Ready)]
    written = _store(ready, ground)
    last = _last_dates(ready, ground)
    return [_result(found, ground, written, last) if isinstance(found, _Ready) else found for found in results]


def _version(version_id: UUID) -> tuple[Version, VersionPlan]:
    version = get_version_named(version_id=version_id, pointer="#/version")
    if version.state != VersionState.PUBLISHED:
        raise NotAssignable(f"Version {version.number} is {version.state}; publish one, then move to that.")
    if version.variant.program.archived:
        raise NotAssignable("The program is archived; take it out of the archive to move clients in it.")
    content, facts = stored_content(version)
    gone = sorted(content.exercises - facts.keys())
    if gone:
        raise NotAssignable(f"The catalogue no longer has {', '.join(gone)}; publish a version without it.")
    return version, VersionPlan.of(version.id, content, facts)


def _prepare(move: VersionMove, ground: MoveGround, taken: set[UUID]) -> VersionMoveResult | _Ready:
    assignment = ground.assignments.get(move.assignment_id)
    if assignment is None:
        sentence = "There is no assignment with this id that you may see."
        return VersionMoveResult(move.assignment_id, "refused", "unknown_object", sentence)
    for code, detail in move_conflicts(move, ground, taken):
        return VersionMoveResult(move.assignment_id, "conflict", code, detail, assignment.client_id)
    first = ground.first_date(move)
    to_come = ground.to_come(move)
    laid = ground.laid(move)
    return _Ready(
        move=move,
        first=first,
        laid=laid,
        kept=[row for row in to_come if _key(row) in laid],
        surplus=[row for row in to_come if _key(row) not in laid],
        added=_added(move, ground, laid, first),
    )


def _added(move: VersionMove, ground: MoveGround, laid: Mapping[DayKey, PlannedDate], first: date) -> list[PlannedDate]:
    rows = ground.rows.get(move.assignment_id, ())
    standing = {_key(row) for row in rows}
    more = [place for key, place in laid.items() if key not in standing]
    if ground.assignments[move.assignment_id].calendar != CalendarKind.IN_SEQUENCE:
        return [place for place in more if place.window_end >= first]
    # A sequence goes on after what was done; its dates are laid anew once the days are there.
    reached = max((_key(row) for row in rows if row.state != PlannedState.PLANNED), default=(0, 0))
    return [place for place in more if (place.week_number, place.day_number) > reached]


def _store(ready: Sequence[_Ready], ground: MoveGround) -> _Written:
    now = ground.now
    _store_assignments(ready, ground)
    stale = {(row.client_id, ground.calendar.week_of(row.local_date)) for found in ready for row in found.surplus}
    PlannedSession.objects.filter(id__in=[row.id for found in ready for row in found.surplus]).delete()
    changed = _store_dates(ready, ground)
    added = _insert(ready, ground)
    for row in (row for found in ready for row in found.kept):
        row.version_id = ground.version.id
    rows = [*(row for found in ready for row in found.kept), *added]
    rewritten = rewrite_sessions(rows, now=now)
    changed += lay_sequences(
        assignment_ids=[
            found.move.assignment_id
            for found in ready
            if ground.assignments[found.move.assignment_id].calendar == CalendarKind.IN_SEQUENCE
        ],
        calendar=ground.calendar,
        now=now,
    )
    plan_places(sorted({ground.assignments[found.move.assignment_id].client_id for found in ready}), now=now)
    mark_stale(weeks=stale | {(row.client_id, ground.calendar.week_of(row.local_date)) for row in added}, now=now)
    announce(changed, now)
    return _Written(rewritten, _missing(rows, rewritten))


def _missing(
    rows: Iterable[PlannedSession], rewritten: RewrittenSessions
) -> Mapping[UUID, Mapping[tuple[str, str], MissingReference]]:
    missing: dict[UUID, dict[tuple[str, str], MissingReference]] = defaultdict(dict)
    for row in rows:
        missing[row.assignment_id] |= {(lack.exercise, lack.of): lack for lack in rewritten.missing.get(row.id, ())}
    return missing


def _store_assignments(ready: Sequence[_Ready], ground: MoveGround) -> None:
    overtaken = [
        given.id
        for found in ready
        for given in ground.followed.get(found.move.assignment_id, ())
        if given.from_date >= found.first
    ]
    AssignmentVersion.objects.filter(id__in=overtaken).delete()
    AssignmentVersion.objects.bulk_create(
        [
            AssignmentVersion(
                assignment_id=found.move.assignment_id, version_id=ground.version.id, from_date=found.first
            )
            for found in ready
        ]
    )
    with connection.cursor() as cursor:
        weekdays = [f"{{{','.join(map(str, ground.weekdays(found.move)))}}}" for found in ready]
        cursor.execute(_STORE, [[found.move.assignment_id for found in ready], weekdays, current_business_id()])


def _store_dates(ready: Sequence[_Ready], ground: MoveGround) -> list[PlannedSession]:
    """Put what is to come on the new weekdays, where they change."""
    turned = [found for found in ready if found.move.weekdays is not None]
    for found in turned:
        for row in found.kept:
            place = found.laid[_key(row)]
            if place.local_date >= found.first:
                row.local_date, row.moved_from = place.local_date, None
                row.window_start, row.window_end = place.window_start, place.window_end
                set_due(row, ground.calendar)
    excuse_absent_clients([row for found in turned for row in found.kept])
    return ground.sessions.store(calendar=ground.calendar, now=ground.now)


def _insert(ready: Sequence[_Ready], ground: MoveGround) -> list[PlannedSession]:
    rows = SessionRows(Snapshots(ground.plan), ground.calendar.grace_h)
    for found in ready:
        assignment = ground.assignments[found.move.assignment_id]
        rows.add(
            assignment_id=assignment.id,
            client=assignment.client,
            dates=found.added,
            references={},
            absences=ground.absences.get(assignment.client_id, ()),
        )
    rows.insert()
    standing = {row.id for row in ground.sessions.rows}
    # Substitutes, references and all else of the client's own are written with the sessions that were there.
    return LockedSessions(
        PlannedSession.objects.filter(
            assignment_id__in=[found.move.assignment_id for found in ready], version_id=ground.version.id
        ).exclude(id__in=standing)
    ).rows


def _last_dates(ready: Iterable[_Ready], ground: MoveGround) -> Mapping[UUID, date]:
    last: dict[UUID, date] = defaultdict(lambda: date.min)
    gone = {row.id for found in ready for row in found.surplus}
    for row in ground.sessions.rows:
        if row.id not in gone:
            last[row.assignment_id] = max(last[row.assignment_id], row.local_date)
    for found in ready:
        for place in found.added:
            last[found.move.assignment_id] = max(last[found.move.assignment_id], place.local_date)
    return last


def _result(found: _Ready, ground: MoveGround, written: _Written, last: Mapping[UUID, date]) -> VersionMoveResult:
    assignment = ground.assignments[found.move.assignment_id]
    return VersionMoveResult(
        found.move.assignment_id,
        "moved",
        client_id=assignment.client_id,
        from_date=found.first,
        rewritten_count=len(found.kept),
        added_count=len(found.added),
        removed_count=len(found.surplus),
        last_date=last.get(found.move.assignment_id),
        needs_reference=tuple(written.missing.get(assignment.id, {}).values()),
        changes_without_place=tuple(
            ChangeWithoutPlace(week_number=row.week_number, day_number=row.day_number, slot_key=slot_key, detail=detail)
            for row in found.kept
            for slot_key, detail in written.rewritten.without_place.get(row.id, {}).items()
        ),
    )


def _key(row: PlannedSession) -> DayKey:
    return row.week_number, row.day_number
