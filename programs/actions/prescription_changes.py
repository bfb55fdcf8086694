"""Change what one client's one session prescribes, without touching the program."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from coaching.actions.row_versions import Versions
from coaching.models import Role
from coaching.policy import Principal
from coaching.refusals import Conflict, Fault, NotFound
from programs.actions.calendar_rows import LockedSessions
from programs.actions.planned_sessions import CoachOnly, check_changeable
from programs.actions.session_ground import read_session_ground
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import PlannedSession, PlannedState
from programs.prescription.session_changes_document import encode_changes, read_changes
from programs.prescription.session_edits import RefusedEdits, SlotEdit, edited_changes
from programs.selectors.planned_sessions import visible_planned_sessions
from programs.selectors.prescriptions import InvalidPrescription, check_exercises

POINTER = "#/prescribed"


class SessionMissed(Conflict):
    """What was due and missed stays as it was planned."""

    code = "session_missed"


class NotPrescribable(Conflict):
    """The session can't be written out anew: its version or the catalogue has lost something of it."""

    code = "not_prescribable"


def change_prescription(
    *,
    actor: Principal,
    planned_session_id: UUID,
    versions: Versions,
    edits: Sequence[SlotEdit] | None,
    now: datetime,
) -> None:
    """Add, take out or change slots of one session; the changes hold when the client moves to another version.

    Args:
        actor: a coach.
        planned_session_id: the session.
        versions: what `If-Match` admits.
        edits: what is otherwise, exercises by id or key; None takes everything back that this session has otherwise.
        now: when.

    Raises:
        NotFound: no such session that the actor may see.
        PreconditionFailed: it was changed since.
        CoachOnly: a client tried.
        SessionPerformed, SessionPaused, SessionMissed: its state forbids it.
        InvalidPrescription: a change that nobody could follow; every fault with its place.
        NotPrescribable: its version or the catalogue has lost something of it.
    """
    sessions = LockedSessions(visible_planned_sessions(actor).filter(id=planned_session_id))
    if not sessions.rows:
        raise NotFound("There is no planned session with this id that you may see.")
    (row,) = sessions.rows
    if actor.role == Role.CLIENT:
        raise CoachOnly("Only a coach changes what a session prescribes; ask yours.")
    check_changeable(row, versions)
    if row.state == PlannedState.MISSED:
        raise SessionMissed("The session was missed; move it to a day to come first.")
    row.changes = None if edits is None else _changes(row, edits, now)
    put_change(row, actor, now)
    rewrite_sessions([row], now=now)


def put_change(row: PlannedSession, actor: Principal, now: datetime) -> None:
    """Write down, in memory, who changed a session and when; nobody where it is as its version has it."""
    changed = row.changes is not None
    row.changed_at = now if changed else None
    row.changed_by_id = actor.membership_id if changed else None


def _changes(row: PlannedSession, edits: Sequence[SlotEdit], now: datetime) -> dict[str, Any] | None:
    named = dict(_exercise_places(edits))
    ground = read_session_ground([row], until=now.date(), beside=set(named.values()))
    check_exercises(named.items(), ground.facts)
    session = ground.written(row)
    if session is None:
        raise NotPrescribable("Its version or the catalogue has lost something of it; move it to another version.")
    keys = {name: ground.facts[name].key for name in named.values()}
    changes = edited_changes(
        session,
        read_changes(row.changes),
        [_named_by_key(edit, keys) for edit in edits],
        ground.facts,
        row.assignment.substitutions,
    )
    if isinstance(changes, RefusedEdits):
        raise _refused(changes)
    return encode_changes(changes)


def _exercise_places(edits: Sequence[SlotEdit]) -> Iterator[tuple[str, str]]:
    for index, edit in enumerate(edits):
        if "exercise" in edit.fields:
            yield f"{POINTER}/{index}/exercise", str(edit.fields["exercise"])
        entry = _entry(edit)
        if entry.get("exercise"):
            yield f"{POINTER}/{index}/add/block/entry/exercise", str(entry["exercise"])


def _named_by_key(edit: SlotEdit, keys: Mapping[str, str]) -> SlotEdit:
    if "exercise" in edit.fields:
        edit = replace(edit, fields={**edit.fields, "exercise": keys[str(edit.fields["exercise"])]})
    entry = _entry(edit)
    if edit.place is None or edit.place.block is None or not entry.get("exercise"):
        return edit
    block = {**edit.place.block, "entry": {**entry, "exercise": keys[str(entry["exercise"])]}}
    return replace(edit, place=replace(edit.place, block=block))


def _entry(edit: SlotEdit) -> Mapping[str, Any]:
    block = None if edit.place is None else edit.place.block
    entry = {} if block is None else block.get("entry")
    return entry if isinstance(entry, Mapping) else {}


def _refused(refused: RefusedEdits) -> InvalidPrescription:
    found = [
        Fault(_place(index, fault.pointer), fault.code, fault.message)
        for index, faults in refused.faults.items()
        for fault in faults
    ]
    return InvalidPrescription(f"{found[0].pointer}: {found[0].detail}", faults=found)


def _place(index: int | None, pointer: str) -> str:
    return POINTER if index is None else f"{POINTER}/{index}{pointer.removeprefix('#')}"
