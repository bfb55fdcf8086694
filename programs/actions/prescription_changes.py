"""Change what one client's one session prescribes, without touching the program."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from coaching.actions.row_versions import Versions
from coaching.models import Role
from coaching.policy import Principal
from coaching.refusals import Conflict, Fault, NotFound
from programs.actions.calendar_rows import LockedSessions
from programs.actions.planned_sessions import CoachOnly, check_changeable
from programs.actions.session_ground import SessionGround, read_session_ground
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import PlannedSession, PlannedState
from programs.prescription.document import DocumentFault
from programs.prescription.session_changes import (
    SlotFields,
    encode_changes,
    kept_fields,
    read_changes,
    with_slot,
)
from programs.prescription.structure import Session
from programs.selectors.planned_sessions import visible_planned_sessions
from programs.selectors.prescriptions import InvalidPrescription, check_exercises

POINTER = "#/prescribed"


class SessionMissed(Conflict):
    """What was due and missed stays as it was planned."""

    code = "session_missed"


class NotPrescribable(Conflict):
    """The session can't be written out anew: its version or the catalogue has lost something of it."""

    code = "not_prescribable"


@dataclass(frozen=True, slots=True)
class SlotChange:
    """What a slot has otherwise: `exercise` by id or key, `sets`, `rest_s`, `notes`; nothing takes its change back."""

    slot_key: str
    fields: Mapping[str, Any]


def change_prescription(
    *,
    actor: Principal,
    planned_session_id: UUID,
    versions: Versions,
    slots: Sequence[SlotChange] | None,
    now: datetime,
) -> None:
    """Change slots of one session; the changes hold when the client moves to another version.

    Args:
        actor: a coach.
        planned_session_id: the session.
        versions: what `If-Match` admits.
        slots: the slots that are otherwise; None takes everything back that this session has otherwise.
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
    row.changes = None if slots is None else _changes(row, slots, now)
    put_change(row, actor, now)
    rewrite_sessions([row], now=now)


def put_change(row: PlannedSession, actor: Principal, now: datetime) -> None:
    """Write down, in memory, who changed a session and when; nobody where it is as its version has it."""
    changed = row.changes is not None
    row.changed_at = now if changed else None
    row.changed_by_id = actor.membership_id if changed else None


def _changes(row: PlannedSession, slots: Sequence[SlotChange], now: datetime) -> dict[str, Any] | None:
    named = {index: str(slot.fields["exercise"]) for index, slot in enumerate(slots) if "exercise" in slot.fields}
    ground = read_session_ground([row], until=now.date(), beside=set(named.values()))
    check_exercises(((f"{POINTER}/{index}/exercise", name) for index, name in named.items()), ground.facts)
    session = ground.substituted(row)
    if session is None:
        raise NotPrescribable("Its version or the catalogue has lost something of it; move it to another version.")
    before = read_changes(row.changes)
    kept = dict(before.slots)
    for index, slot in enumerate(slots):
        if slot.fields:
            kept[slot.slot_key] = _kept(session, slot, kept.get(slot.slot_key, {}), ground, index)
        else:
            kept.pop(slot.slot_key, None)
    return encode_changes(replace(before, slots=kept))


def _kept(session: Session, slot: SlotChange, before: SlotFields, ground: SessionGround, index: int) -> dict[str, Any]:
    fields = {**before, **slot.fields}
    if "exercise" in fields:
        fields["exercise"] = ground.facts[fields["exercise"]].key
    placed = with_slot(session, slot.slot_key, fields, ground.facts)
    if isinstance(placed, Session):
        return kept_fields(placed, slot.slot_key, fields)
    raise _refused(placed, index)


def _refused(faults: Sequence[DocumentFault], index: int) -> InvalidPrescription:
    found = [
        Fault(f"{POINTER}/{index}{fault.pointer.removeprefix('#')}", fault.code, fault.message) for fault in faults
    ]
    return InvalidPrescription(f"{found[0].pointer}: {found[0].detail}", faults=found)
