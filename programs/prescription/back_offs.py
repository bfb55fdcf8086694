"""Loads that hang on what is lifted before them: back-offs on the day's top set, and loads that are another slot's."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from programs.prescription.lifted_sets import LiftedSet, heaviest, lifted_kind
from programs.prescription.loads import resolve_load, resolve_of_top
from programs.prescription.prescribed_loads import AbsoluteLoad, RelativeToTopLoad
from programs.prescription.same_loads import with_same_loads
from programs.prescription.shown_loads import shown_load
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import TOP_SET_KINDS, LoadUnit

__all__ = ["LiftedSet", "with_back_offs"]


def with_back_offs(
    prescribed: Mapping[str, Any],
    lifted: Sequence[LiftedSet],
    exercises: Mapping[str, ExerciseFacts],
    *,
    unit: LoadUnit,
    steps: Mapping[str, Decimal] | None = None,
) -> dict[str, Any]:
    """Write a client's document with the loads that hang on others resolved by what was lifted.

    A slot whose top set is not known, or was of another exercise, says again that its load is found on the day; a
    load that is another slot's is again what is planned there.

    Args:
        prescribed: the document, as `session_snapshot` writes it.
        lifted: all sets of the session that were done with a load.
        exercises: facts by the key that a slot names; a slot whose exercise is not among them stays as it is.
        unit: the unit that the client loads in.
        steps: the steps of loads where the session is done, in that unit, by how an exercise is loaded.

    Returns:
        A new document; equal to the given one where nothing changes.
    """
    loads = _Loads(lifted, exercises, unit, steps or {})
    blocks = [block | {"slots": [loads.slot(slot) for slot in block["slots"]]} for block in prescribed["blocks"]]
    resolved = {**prescribed, "blocks": blocks}
    return with_same_loads(resolved, exercises, unit=unit, steps=steps, lifted=lifted)


@dataclass(frozen=True, slots=True)
class _Loads:
    lifted: Sequence[LiftedSet]
    exercises: Mapping[str, ExerciseFacts]
    unit: LoadUnit
    steps: Mapping[str, Decimal]

    def slot(self, slot: Mapping[str, Any]) -> Mapping[str, Any]:
        facts = self.exercises.get(slot["exercise"])
        if facts is None or not any(_is_relative(line) for line in slot["sets"]):
            return slot
        top = self._top(slot, facts)
        return {**slot, "sets": [self._line(line, facts, top) for line in slot["sets"]]}

    def _line(self, line: Mapping[str, Any], facts: ExerciseFacts, top: AbsoluteLoad | None) -> Mapping[str, Any]:
        if not _is_relative(line):
            return line
        load = RelativeToTopLoad(pct=Decimal(line["load"]["pct"]))
        if top is None:
            return {**line, **shown_load(resolve_load(load, {}, loading=facts.loading, unit=self.unit))}
        step = self.steps.get(facts.loading)
        return {**line, **shown_load(resolve_of_top(load, top, loading=facts.loading, unit=self.unit, step=step))}

    def _top(self, slot: Mapping[str, Any], facts: ExerciseFacts) -> AbsoluteLoad | None:
        """Find the heaviest top set; sets on the way up stand in until there is one."""
        mine = [one for one in self.lifted if (one.slot_key, one.exercise) == (slot["slot_key"], facts.key)]
        kinds = ((lifted_kind(one, slot), one.load) for one in mine)
        return heaviest((kind, load) for kind, load in kinds if kind in TOP_SET_KINDS)


def _is_relative(line: Mapping[str, Any]) -> bool:
    return (line.get("load") or {}).get("kind") == "relative_to_top"
