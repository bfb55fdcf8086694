"""A session with a client's substitutes in it: whose sets stay as written, whose loads are found anew.

A load written for one exercise says nothing of another: absolute loads go by effort, percentages are taken of
the substitute's own reference.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from programs.prescription.prescribed_loads import AbsoluteLoad, BandLoad, BodyweightLoad, Load, PercentLoad, SameAsLoad
from programs.prescription.structure import Block, ExerciseFacts, Session, Slot, session_exercises
from programs.prescription.vocabulary import Laterality, Loading

Substitutions = Mapping[str, str]
"""By the key of an exercise, the key of what a client does in its place."""

_NOT_BY_PERCENT: Final[frozenset[Loading]] = frozenset({"bodyweight", "band", "machine_monitor", "none"})
"""Loadings of which no percentage can be made. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Exchange:
    substitutions: Substitutions
    exercises: Mapping[str, ExerciseFacts]
    slots: Mapping[str, Slot]

    def of(self, key: str) -> str:
        return self.substitutions.get(key, key)


def own_substitutions(session: Session, substitutions: Substitutions) -> dict[str, str]:
    """Give those of a client's substitutions that a session needs, in the order of its exercises' keys."""
    return {key: substitutions[key] for key in sorted(session_exercises(session)) if key in substitutions}


def substituted_session(
    session: Session, substitutions: Substitutions, exercises: Mapping[str, ExerciseFacts]
) -> Session:
    """Put a client's substitutes into a session.

    Args:
        session: as the program's version prescribes it.
        substitutions: what the client does in place of what.
        exercises: facts by key, those replaced and their substitutes among them.

    Returns:
        The session with blocks, slots and sets at the same places; the same one where nothing is replaced.
    """
    if not own_substitutions(session, substitutions):
        return session
    exchange = _Exchange(
        substitutions=substitutions,
        exercises=exercises,
        slots={slot.slot_key: slot for slot in session.slots},
    )
    return replace(session, blocks=tuple(_block(block, exchange) for block in session.blocks))


def _block(block: Block, exchange: _Exchange) -> Block:
    entry = block.entry
    return replace(
        block,
        slots=tuple(_slot(slot, exchange) for slot in block.slots),
        entry=None if entry is None else replace(entry, exercise=exchange.of(entry.exercise)),
    )


def _slot(slot: Slot, exchange: _Exchange) -> Slot:
    before = exchange.exercises[slot.exercise]
    after = exchange.exercises[exchange.of(slot.exercise)]
    sets = tuple(replace(group, load=_load(group.load, slot, after, exchange)) for group in slot.sets)
    if before.key == after.key:
        return replace(slot, sets=sets)
    return replace(slot, exercise=after.key, per_side=_per_side(slot, before.laterality, after.laterality), sets=sets)


def _per_side(slot: Slot, before: Laterality, after: Laterality) -> bool:
    """Sets for both sides at once become as many for each, and the other way round."""
    if after == "bilateral":
        return False
    return True if before == "bilateral" else slot.per_side


def _load(load: Load | None, slot: Slot, after: ExerciseFacts, exchange: _Exchange) -> Load | None:
    if isinstance(load, SameAsLoad):
        return load if _same_still(slot, exchange.slots.get(load.slot_key), exchange) else None
    if exchange.of(slot.exercise) == slot.exercise:
        return load
    match load:
        case AbsoluteLoad():
            return None
        case PercentLoad():
            return None if after.loading in _NOT_BY_PERCENT else load
        case BodyweightLoad():
            return load if after.loading == "bodyweight" else None
        case BandLoad():
            return load if after.loading == "band" else None
        case _:
            return load


def _same_still(slot: Slot, other: Slot | None, exchange: _Exchange) -> bool:
    if other is None:
        return False
    mine, theirs = exchange.of(slot.exercise), exchange.of(other.exercise)
    return mine == theirs or (mine, theirs) == (slot.exercise, other.exercise)
