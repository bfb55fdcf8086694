"""Move clients to another version of the variant that they follow, from a date on.

What was done and what was due before the date stays; of what is to come, sessions that are `planned` are written
anew. One-off changes and the client's own substitutes hold in the new version too.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from coaching.policy import Principal
from coaching.refusals import Conflict, NotFound
from programs.actions.assignments import NotAssignable
from programs.actions.session_plans import VersionPlan
from programs.actions.version_move_ground import MoveGround, move_conflicts, read_ground
from programs.actions.version_move_results import ChangeWithoutPlace, VersionMove, VersionMoveResult
from programs.actions.version_move_rows import ReadyMove, WrittenMoves, session_key, store_moves
from programs.models import CalendarKind, PlannedState, Version, VersionState
from programs.prescription.calendar import DayKey, PlannedDate
from programs.prescription.structure import ExerciseFacts
from programs.selectors.prescriptions import stored_content
from programs.selectors.programs import get_version_named
from programs.selectors.substitutes import ClientFit
from programs.selectors.timelines import business_timelines


class NotMovable(Conflict):
    """The assignment's state or terms forbid the move."""

    code = "not_movable"


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
    results: list[VersionMoveResult | ReadyMove] = []
    taken: set[UUID] = set()
    for move in moves:
        found = _prepare(move, ground, taken)
        if isinstance(found, ReadyMove):
            taken.add(move.assignment_id)
        results.append(found)
    ready = [found for found in results if isinstance(found, ReadyMove)]
    if not ready:
        return [found for found in results if not isinstance(found, ReadyMove)]
    written = store_moves(ready, ground)
    last = _last_dates(ready, ground)
    clients = {found.move.assignment_id: ground.assignments[found.move.assignment_id].client for found in ready}
    used = {clients[found.move.assignment_id].id: _used(found, ground) for found in ready}
    fit = plan.fit(clients.values(), used)
    return [_result(found, ground, written, last, fit) if isinstance(found, ReadyMove) else found for found in results]


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
    return version, VersionPlan.of(version.id, content, facts, business_timelines().gym)


def _prepare(move: VersionMove, ground: MoveGround, taken: set[UUID]) -> VersionMoveResult | ReadyMove:
    assignment = ground.assignments.get(move.assignment_id)
    if assignment is None:
        sentence = "There is no assignment with this id that you may see."
        return VersionMoveResult(move.assignment_id, "refused", "unknown_object", sentence)
    for code, detail in move_conflicts(move, ground, taken):
        return VersionMoveResult(move.assignment_id, "conflict", code, detail, assignment.client_id)
    first = ground.first_date(move)
    to_come = ground.to_come(move)
    laid = ground.laid(move)
    return ReadyMove(
        move=move,
        first=first,
        laid=laid,
        kept=[row for row in to_come if session_key(row) in laid],
        surplus=[row for row in to_come if session_key(row) not in laid],
        added=_added(move, ground, laid, first),
    )


def _added(move: VersionMove, ground: MoveGround, laid: Mapping[DayKey, PlannedDate], first: date) -> list[PlannedDate]:
    rows = ground.rows.get(move.assignment_id, ())
    standing = {session_key(row) for row in rows}
    more = [place for key, place in laid.items() if key not in standing]
    if ground.assignments[move.assignment_id].calendar != CalendarKind.IN_SEQUENCE:
        return [place for place in more if place.window_end >= first]
    # A sequence goes on after what was done; its dates are laid anew once the days are there.
    reached = max((session_key(row) for row in rows if row.state != PlannedState.PLANNED), default=(0, 0))
    return [place for place in more if (place.week_number, place.day_number) > reached]


def _last_dates(ready: Iterable[ReadyMove], ground: MoveGround) -> Mapping[UUID, date]:
    last: dict[UUID, date] = defaultdict(lambda: date.min)
    gone = {row.id for found in ready for row in found.surplus}
    for row in ground.sessions.rows:
        if row.id not in gone:
            last[row.assignment_id] = max(last[row.assignment_id], row.local_date)
    for found in ready:
        for place in found.added:
            last[found.move.assignment_id] = max(last[found.move.assignment_id], place.local_date)
    return last


def _result(
    found: ReadyMove,
    ground: MoveGround,
    written: WrittenMoves,
    last: Mapping[UUID, date],
    fits: Mapping[UUID, ClientFit],
) -> VersionMoveResult:
    assignment = ground.assignments[found.move.assignment_id]
    fit = fits[assignment.client_id]
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
        warnings=fit.warnings,
        conflicts=fit.conflicts,
    )


def _used(found: ReadyMove, ground: MoveGround) -> list[ExerciseFacts]:
    """Return the exercises that are to come, without those that the client has a substitute for."""
    days = {session_key(row) for row in found.kept} | {(day.week_number, day.day_number) for day in found.added}
    own = ground.assignments[found.move.assignment_id].substitutions
    return [facts for facts in ground.plan.used(sorted(days)) if facts.key not in own]
