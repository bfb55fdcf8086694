"""Write accepted loads into planned sessions: one-off changes that hold for a slot as it is now.

`logs` calls this with what it advised; `programs` never asks `logs`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final, Literal
from uuid import UUID

from django.db.models import Q

from coaching.policy import Principal
from programs.actions.calendar_rows import LockedSessions
from programs.actions.prescription_changes import put_change
from programs.actions.session_ground import SessionGround, read_session_ground
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import PlannedSession, PlannedState
from programs.prescription.accepted_loads import AcceptedLoad, asked_of
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.session_changes_document import encode_changes, read_changes
from programs.prescription.structure import Slot
from programs.selectors.planned_sessions import visible_planned_sessions

ApplyTo = Literal["session", "rest_of_program"]

_UNTOUCHED: Final = (PlannedState.PLANNED, PlannedState.EXCUSED, PlannedState.PAUSED)


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedLoad:
    """A load for a slot of a session.

    Attributes:
        planned_session_id: the session.
        slot_key: the slot.
        exercise: the key of the exercise that the slot had when the load was advised.
        groups: the places of the set groups that take it, from 0.
        load: the load.
        advice: the sentence that was accepted.
        advised_on: the client's local date of the advice.
        apply_to: this session alone, or also the assignment's sessions to come whose slot asks for the same.
        counts: the most sets of each set group, where fewer are accepted too.
        rpe_most: the highest RPE, where easier sets are accepted too.
    """

    planned_session_id: UUID
    slot_key: str
    exercise: str
    groups: tuple[int, ...]
    load: AbsoluteLoad
    advice: str
    advised_on: date
    apply_to: ApplyTo = "session"
    counts: tuple[int, ...] = ()
    rpe_most: Decimal | None = None


@dataclass(frozen=True, slots=True)
class AcceptedResult:
    """What became of one load; `sessions` is how many sessions it was written into."""

    outcome: Literal["accepted", "unchanged", "refused"]
    code: str = ""
    detail: str = ""
    sessions: int = 0


def accept_loads(*, actor: Principal, wanted: Sequence[WantedLoad], now: datetime) -> list[AcceptedResult]:
    """Write accepted loads, in a constant number of statements; one that can't be written is told why.

    A load holds when its client moves to another version or a plan is written anew, as long as the slot has the
    exercise and asks for the same; else it is left out. Taking back a session's changes takes it too.

    Args:
        actor: a coach; only sessions of clients whom they may see are written.
        wanted: the loads, in the order of the results.
        now: when they were accepted.
    """
    rows = _locked(actor, wanted)
    ground = read_session_ground(rows, until=now.date())
    writing = _Writing({row.id: row for row in rows}, ground, actor, now)
    results = [writing.accept(one) for one in wanted]
    rewrite_sessions([row for row in rows if row.id in writing.changed], now=now)
    return results


def _locked(actor: Principal, wanted: Sequence[WantedLoad]) -> list[PlannedSession]:
    named = Q(id__in=[one.planned_session_id for one in wanted])
    widely = [one.planned_session_id for one in wanted if one.apply_to == "rest_of_program"]
    if widely:
        assignments = list(
            visible_planned_sessions(actor).filter(id__in=widely).values_list("assignment_id", flat=True)
        )
        named |= Q(assignment_id__in=assignments, state__in=_UNTOUCHED)
    return LockedSessions(visible_planned_sessions(actor).filter(named)).rows


@dataclass(slots=True)
class _Writing:
    rows: Mapping[UUID, PlannedSession]
    ground: SessionGround
    actor: Principal
    now: datetime
    changed: set[UUID] = field(default_factory=set)

    def accept(self, one: WantedLoad) -> AcceptedResult:
        row = self.rows.get(one.planned_session_id)
        if row is None:
            return AcceptedResult(
                "refused", "unknown_object", "There is no planned session with this id that you may see."
            )
        if row.state not in _UNTOUCHED:
            return AcceptedResult(
                "refused",
                "session_not_open",
                f"The session is {row.state}: what it prescribes is not changed any more.",
            )
        slot = self._slot(row, one)
        if slot is None:
            return AcceptedResult(
                "refused",
                "slot_changed",
                f"{one.slot_key} has no {one.exercise} any more; read the advice again.",
            )
        accepted = self._accepted(one, slot)
        written = sum(self._put(own, one.slot_key, accepted) for own in (row, *self._later(row, one, accepted)))
        return AcceptedResult("accepted" if written else "unchanged", sessions=written)

    def _accepted(self, one: WantedLoad, slot: Slot) -> AcceptedLoad:
        return AcceptedLoad(
            exercise=one.exercise,
            load=one.load,
            groups=one.groups,
            asked=asked_of(slot),
            advice=one.advice,
            advised_on=one.advised_on,
            counts=one.counts,
            rpe_most=one.rpe_most,
            accepted_at=self.now,
            accepted_by="" if self.actor.membership_id is None else str(self.actor.membership_id),
        )

    def _later(self, row: PlannedSession, one: WantedLoad, accepted: AcceptedLoad) -> Iterator[PlannedSession]:
        if one.apply_to != "rest_of_program":
            return
        place = (row.week_number, row.day_number)
        for other in self.rows.values():
            if other.assignment_id != row.assignment_id or (other.week_number, other.day_number) <= place:
                continue
            slot = self._slot(other, one)
            if slot is not None and not other.deload and asked_of(slot) == accepted.asked:
                yield other

    def _slot(self, row: PlannedSession, one: WantedLoad) -> Slot | None:
        """Find a slot as it is without accepted loads and deload, if it still has the exercise."""
        plain = self.ground.changed(row, replace(read_changes(row.changes), loads={}, deload=None))
        if plain is None:
            return None
        found = next((slot for slot in plain.session.slots if slot.slot_key == one.slot_key), None)
        if found is None or found.exercise != one.exercise or len(found.sets) <= max(one.groups):
            return None
        return found

    def _put(self, row: PlannedSession, slot_key: str, accepted: AcceptedLoad) -> bool:
        changes = read_changes(row.changes)
        before = changes.loads.get(slot_key)
        if before is not None and _same(before, accepted):
            return False
        row.changes = encode_changes(replace(changes, loads={**changes.loads, slot_key: accepted}))
        put_change(row, self.actor, self.now)
        self.changed.add(row.id)
        return True


def _same(one: AcceptedLoad, other: AcceptedLoad) -> bool:
    return _written(one) == _written(other)


def _written(one: AcceptedLoad) -> tuple[Any, ...]:
    return one.exercise, one.load.load_kg, one.groups, one.asked, one.counts, one.rpe_most
