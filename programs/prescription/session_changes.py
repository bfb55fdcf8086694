"""What one client's session has otherwise than its version: slots, substitutes, changed fields, a deload of its own.

Changes are rules laid over the version's session, not a copy of it, so that they hold when the version changes.
Slots are added and taken out first, then the client's substitutes and this session's swaps put in, then fields of
slots changed, then accepted loads taken, then comes the deload.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from programs.prescription.accepted_loads import AcceptedLoad, with_accepted_loads
from programs.prescription.progression_rules import Deload
from programs.prescription.session_deloads import deloaded_session
from programs.prescription.session_slots import AddedSlots, reslotted_session
from programs.prescription.slot_changes import SlotFields, with_slot
from programs.prescription.structure import ExerciseFacts, Session
from programs.prescription.substituted_sessions import Substitutions, substituted_session

_WRITTEN_LOADS: Final = frozenset({"absolute", "band", "same_as"})
"""Loads that are written for one exercise. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionChanges:
    """Changes of one session.

    ``added`` are slots that it has more, ``removed`` the keys of the version's slots that are taken out; ``swaps``
    gives the exercise instead, by exercise key; ``slots`` the changed fields of a slot's document, by slot_key;
    ``loads`` the accepted loads, by slot_key; ``deload`` what it makes lighter.
    """

    added: tuple[AddedSlots, ...] = ()
    removed: tuple[str, ...] = ()
    swaps: Mapping[str, str] = field(default_factory=dict)
    slots: Mapping[str, SlotFields] = field(default_factory=dict)
    loads: Mapping[str, AcceptedLoad] = field(default_factory=dict)
    deload: Deload | None = None

    @property
    def exercises(self) -> frozenset[str]:
        """The keys of the exercises that the changes bring in."""
        named = {fields["exercise"] for fields in self.slots.values() if fields.get("exercise")}
        return frozenset(named | set(self.swaps.values())).union(*(added.exercises for added in self.added))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedSession:
    """A session with its changes, and a sentence by slot_key for each change that has no place in it.

    ``written`` is the session as written, with its slots added and taken out and nothing else: blocks and slots stand
    at the same places. ``added`` has the keys of the added slots, ``accepted`` the accepted loads that have a place,
    and ``unaccepted`` is the session without them.
    """

    session: Session
    written: Session
    without_place: Mapping[str, str]
    added: frozenset[str] = frozenset()
    accepted: Mapping[str, AcceptedLoad] = field(default_factory=dict)
    unaccepted: Session | None = None


def changed_session(
    session: Session,
    changes: SessionChanges,
    exercises: Mapping[str, ExerciseFacts],
    substitutions: Substitutions | None = None,
) -> ChangedSession:
    """Lay a client's substitutes and a session's changes over it.

    Args:
        session: as its version prescribes it.
        changes: what is otherwise.
        exercises: facts by key, of every exercise of the session, of the substitutions and of the changes.
        substitutions: the client's own.

    Returns:
        The session, and the changes that have no place in it, which are left out.
    """
    reslotted = reslotted_session(session, changes.added, changes.removed, changes.slots)
    changed = exchanged_session(reslotted.session, substitutions or {}, changes.swaps, exercises)
    without_place = {key: faults[0].message for key, faults in reslotted.faults.items()}
    for slot_key, fields in changes.slots.items():
        placed = with_slot(changed, slot_key, fields, exercises)
        if isinstance(placed, Session):
            changed = placed
        else:
            without_place.setdefault(slot_key, placed[0].message)
    loaded, accepted, lost = with_accepted_loads(changed, changes.loads)
    if changes.deload is not None:
        changed = deloaded_session(changed, changes.deload, exercises)
        loaded = deloaded_session(loaded, changes.deload, exercises)
    return ChangedSession(
        session=loaded,
        written=reslotted.session,
        without_place={**lost, **without_place},
        added=frozenset(key for added in changes.added for key in added.slot_keys if key not in reslotted.faults),
        accepted=accepted,
        unaccepted=changed,
    )


def exchanged_session(
    session: Session, substitutions: Substitutions, swaps: Substitutions, exercises: Mapping[str, ExerciseFacts]
) -> Session:
    """Put a client's substitutes into a session, and then the session's own swaps.

    Args:
        session: as it is written.
        substitutions: the client's, by exercise key.
        swaps: the session's own, by the key of the exercise that stands there then.
        exercises: facts by key, of every exercise of all three.
    """
    return substituted_session(substituted_session(session, substitutions, exercises), swaps, exercises)


def swapped_changes(changes: SessionChanges, exercise: str, instead: str) -> SessionChanges:
    """Swap an exercise of a session, whatever it stands there for.

    Args:
        changes: what the session has otherwise already.
        exercise: the key of the exercise that is in the session now.
        instead: the key of the exercise to do instead.
    """
    swaps = {key: instead if other == exercise else other for key, other in changes.swaps.items()}
    swaps[exercise] = instead
    return replace(
        changes,
        swaps={key: other for key, other in swaps.items() if key != other},
        slots={key: _swapped_fields(fields, exercise, instead) for key, fields in changes.slots.items()},
    )


def _swapped_fields(fields: SlotFields, exercise: str, instead: str) -> SlotFields:
    if fields.get("exercise") != exercise:
        return fields
    # Loads written for the one say nothing of the other.
    sets = [
        {name: value for name, value in group.items() if name != "load" or value.get("kind") not in _WRITTEN_LOADS}
        for group in fields.get("sets", ())
    ]
    return {**fields, "exercise": instead, **({"sets": sets} if "sets" in fields else {})}
