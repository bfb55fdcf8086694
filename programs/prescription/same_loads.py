"""Loads that are those of another slot of the day: as planned, until that slot has been lifted."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from programs.prescription.lifted_sets import LiftedSet, heaviest, lifted_kind
from programs.prescription.loads import ResolvedLoad, resolve_load, resolve_same_as
from programs.prescription.prescribed_loads import AbsoluteLoad, SameAsLoad
from programs.prescription.shown_loads import load_shown, shown_load
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS, LoadUnit

_WITHOUT_FIGURE: Final = frozenset({"bodyweight", "band"})
"""What a load may be planned as without a figure, and another slot's the same. Practice."""


def with_same_loads(
    prescribed: Mapping[str, Any],
    exercises: Mapping[str, ExerciseFacts],
    *,
    unit: LoadUnit,
    steps: Mapping[str, Decimal] | None = None,
    lifted: Sequence[LiftedSet] = (),
) -> dict[str, Any]:
    """Write a client's document with the loads that are another slot's resolved as far as that slot's is known.

    What was lifted there counts before what is planned there: of several sets the heaviest that was no warm-up. Where
    neither is known, or the two exercises say their loads differently, it stays to be found on the day.

    Args:
        prescribed: the document, every other load resolved.
        exercises: facts by the key that a slot names; a slot whose exercise is not among them stays as it is.
        unit: the unit that the client loads in.
        steps: the steps of loads where the session is done, in that unit, by how an exercise is loaded.
        lifted: the sets of the session that were done with a load.

    Returns:
        A new document; equal to the given one where nothing changes.
    """
    if not any(map(is_same_as, _lines(prescribed))):
        return dict(prescribed)
    loads = _Loads(exercises, unit, steps or {}, lifted, {})
    blocks = [block | {"slots": [loads.slot(slot) for slot in block["slots"]]} for block in prescribed["blocks"]]
    return {**prescribed, "blocks": blocks}


def is_same_as(line: Mapping[str, Any]) -> bool:
    """Say whether a set group's load is another slot's."""
    return (line.get("load") or {}).get("kind") == "same_as"


@dataclass(frozen=True, slots=True)
class _Loads:
    exercises: Mapping[str, ExerciseFacts]
    unit: LoadUnit
    steps: Mapping[str, Decimal]
    lifted: Sequence[LiftedSet]
    earlier: dict[str, Mapping[str, Any]]
    """The slots before, by slot_key, as they are written now: only to those can a load refer."""

    def slot(self, slot: Mapping[str, Any]) -> Mapping[str, Any]:
        facts = self.exercises.get(slot["exercise"])
        if facts is not None and any(map(is_same_as, slot["sets"])):
            slot = {**slot, "sets": [self._line(line, slot, facts) for line in slot["sets"]]}
        self.earlier[slot["slot_key"]] = slot
        return slot

    def _line(self, line: Mapping[str, Any], slot: Mapping[str, Any], facts: ExerciseFacts) -> Mapping[str, Any]:
        if not is_same_as(line):
            return line
        load = SameAsLoad(slot_key=line["load"]["slot_key"])
        other = self.earlier.get(load.slot_key)
        alike = other is not None and other.get("load_basis") == slot.get("load_basis")
        resolved = self._of(load, other, facts) if alike and other is not None else None
        return {**line, **shown_load(resolved or resolve_load(load, {}, loading=facts.loading, unit=self.unit))}

    def _of(self, load: SameAsLoad, other: Mapping[str, Any], facts: ExerciseFacts) -> ResolvedLoad | None:
        logged = heaviest((kind, one.load) for kind, one in self._done(other))
        if logged is not None:
            return self._as(load, logged, "logged", facts)
        counted = [line for line in other["sets"] if line["kind"] not in UNCOUNTED_SET_KINDS]
        statuses = {line.get("load_status") for line in counted}
        if len(statuses) == 1 and statuses <= _WITHOUT_FIGURE:
            words = counted[0]["resolved_from"]
            return ResolvedLoad(status=statuses.pop(), from_what=f"Same as {load.slot_key}. {words}")
        planned = [load_shown(line) for line in counted]
        known = [one for one in planned if one is not None]
        if not known or len(known) != len(planned):
            return None
        return self._as(load, max(known, key=lambda one: one.load_kg), "planned", facts)

    def _as(self, load: SameAsLoad, of: AbsoluteLoad, how: str, facts: ExerciseFacts) -> ResolvedLoad:
        step = self.steps.get(facts.loading)
        return resolve_same_as(load, of, how=how, loading=facts.loading, unit=self.unit, step=step)

    def _done(self, slot: Mapping[str, Any]) -> Iterator[tuple[str, LiftedSet]]:
        for one in self.lifted:
            if (one.slot_key, one.exercise) == (slot["slot_key"], slot["exercise"]):
                kind = lifted_kind(one, slot)
                if kind == "ramp" or kind not in UNCOUNTED_SET_KINDS:
                    yield kind, one


def _lines(prescribed: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    return (line for block in prescribed["blocks"] for slot in block["slots"] for line in slot["sets"])
