"""The rows of a move to another version: which version is followed, what comes off, what is added and written anew."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.actions.stale_weeks import mark_stale
from coaching.tenancy.scope import current_business_id
from programs.actions.calendar_rows import LockedSessions, announce, announce_days, set_due
from programs.actions.excusing import excuse_absent_clients
from programs.actions.sequences import lay_sequences
from programs.actions.session_plans import SessionRows, Snapshots
from programs.actions.session_rewrites import RewrittenSessions, rewrite_sessions
from programs.actions.travel_places import plan_places
from programs.actions.version_move_ground import MoveGround
from programs.actions.version_move_results import VersionMove
from programs.models import AssignmentVersion, CalendarKind, PlannedSession
from programs.prescription.calendar import DayKey, PlannedDate
from programs.prescription.snapshot import MissingReference

_STORE: Final = (
    "UPDATE programs_assignment a SET weekdays = v.weekdays::smallint[], row_version = a.row_version + 1 "
    "FROM unnest(%s::uuid[], %s::text[]) AS v (id, weekdays) WHERE a.business_id = %s AND a.id = v.id"
)


@dataclass(slots=True)
class ReadyMove:
    """An assignment that is moved: what is written anew, taken off and added."""

    move: VersionMove
    first: date
    laid: Mapping[DayKey, PlannedDate]
    kept: list[PlannedSession]
    surplus: list[PlannedSession]
    added: list[PlannedDate]


@dataclass(frozen=True, slots=True)
class WrittenMoves:
    """What was written, and by assignment the reference loads that are missing for it."""

    rewritten: RewrittenSessions
    missing: Mapping[UUID, Mapping[tuple[str, str], MissingReference]]


def store_moves(ready: Sequence[ReadyMove], ground: MoveGround) -> WrittenMoves:
    """Write what the assignments that can be moved follow from now on; in a constant number of statements."""
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
    for row in added:
        row.days_changed = True
    announce([*changed, *added], now)
    announce_days([row.id for row in added if row.assignment.calendar == CalendarKind.IN_SEQUENCE], now)
    return WrittenMoves(rewritten, _missing(rows, rewritten))


def _missing(
    rows: Iterable[PlannedSession], rewritten: RewrittenSessions
) -> Mapping[UUID, Mapping[tuple[str, str], MissingReference]]:
    missing: dict[UUID, dict[tuple[str, str], MissingReference]] = defaultdict(dict)
    for row in rows:
        missing[row.assignment_id] |= {(lack.exercise, lack.of): lack for lack in rewritten.missing.get(row.id, ())}
    return missing


def _store_assignments(ready: Sequence[ReadyMove], ground: MoveGround) -> None:
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


def _store_dates(ready: Sequence[ReadyMove], ground: MoveGround) -> list[PlannedSession]:
    """Put what is to come on the new weekdays, where they change."""
    turned = [found for found in ready if found.move.weekdays is not None]
    for found in turned:
        for row in found.kept:
            place = found.laid[session_key(row)]
            if place.local_date >= found.first:
                row.local_date, row.moved_from = place.local_date, None
                row.window_start, row.window_end = place.window_start, place.window_end
                set_due(row, ground.calendar)
    excuse_absent_clients([row for found in turned for row in found.kept])
    return ground.sessions.store(calendar=ground.calendar, now=ground.now)


def _insert(ready: Sequence[ReadyMove], ground: MoveGround) -> list[PlannedSession]:
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


def session_key(row: PlannedSession) -> DayKey:
    """Return the week and day number of a session."""
    return row.week_number, row.day_number
