"""Back-off loads, found when the day's top set is known."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from programs.prescription.loads import resolve_load, resolve_of_top
from programs.prescription.snapshot import shown_load
from programs.prescription.structure import AbsoluteLoad, ExerciseFacts, RelativeToTopLoad
from programs.prescription.vocabulary import TOP_SET_KINDS, LoadUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftedSet:
    """A set that was done with a load, in the exercise's own basis; ``set_number`` counts from 1 in its slot."""

    slot_key: str
    exercise: str
    set_number: int
    kind: str
    load: AbsoluteLoad


def with_back_offs(
    prescribed: Mapping[str, Any],
    lifted: Sequence[LiftedSet],
    exercises: Mapping[str, ExerciseFacts],
    *,
    unit: LoadUnit,
    steps: Mapping[str, Decimal] | None = None,
) -> dict[str, Any]:
    """Write a client's document with the loads that hang on a top set resolved by what was lifted.

    A slot whose top set is not known, or was of another exercise, says again that its load is found on the day.

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
    return {**prescribed, "blocks": blocks}


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
        planned = [line["kind"] for line in slot["sets"] for _ in range(line.get("count", 1))]
        tops: list[tuple[bool, Decimal, AbsoluteLoad]] = []
        for one in self.lifted:
            if (one.slot_key, one.exercise) != (slot["slot_key"], facts.key):
                continue
            kind = _kind(one, planned)
            if kind in TOP_SET_KINDS:
                tops.append((kind != "ramp", one.load.load_kg, one.load))
        return max(tops, key=lambda top: top[:2])[2] if tops else None


def _is_relative(line: Mapping[str, Any]) -> bool:
    return (line.get("load") or {}).get("kind") == "relative_to_top"


def _kind(lifted: LiftedSet, planned: Sequence[str]) -> str:
    """Return a set's kind: an app that says nothing sends plain work, and then the plan knows which set it was."""
    if lifted.kind == "work" and 0 < lifted.set_number <= len(planned):
        return planned[lifted.set_number - 1]
    return lifted.kind
