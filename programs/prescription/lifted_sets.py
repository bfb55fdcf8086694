"""Sets that were lifted in a session, as far as other loads of the session hang on them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from programs.prescription.prescribed_loads import AbsoluteLoad


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftedSet:
    """A set that was done with a load, in the exercise's own basis; ``set_number`` counts from 1 in its slot."""

    slot_key: str
    exercise: str
    set_number: int
    kind: str
    load: AbsoluteLoad


def lifted_kind(lifted: LiftedSet, slot: Mapping[str, Any]) -> str:
    """Return a set's kind: an app that says nothing sends plain work, and then the plan knows which set it was.

    Args:
        lifted: the set.
        slot: its slot, as the client's document has it.
    """
    planned = [line["kind"] for line in slot["sets"] for _ in range(line.get("count", 1))]
    if lifted.kind == "work" and 0 < lifted.set_number <= len(planned):
        kind: str = planned[lifted.set_number - 1]
        return kind
    return lifted.kind


def heaviest(sets: Iterable[tuple[str, AbsoluteLoad]]) -> AbsoluteLoad | None:
    """Give the heaviest of sets with their kinds; sets on the way up stand in until there is another."""
    known = [(kind != "ramp", load.load_kg, load) for kind, load in sets]
    return max(known, key=lambda one: one[:2])[2] if known else None
