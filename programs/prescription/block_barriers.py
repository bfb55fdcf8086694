"""What keeps two exercises from sharing a block: one station, or a grip or trunk that is the limit of both."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import combinations
from typing import Final, Literal

from programs.catalogue.vocabulary import SHARED_STATIONS
from programs.prescription.findings import Finding
from programs.prescription.structure import Block, ExerciseFacts

Barrier = Literal["station", "grip", "trunk"]

_GRIP_PATTERNS: Final = frozenset({"grip", "carry", "hinge", "vertical_pull", "horizontal_pull", "olympic"})
"""Patterns in which the hands hold what is lifted, so that a used grip limits the set. Practice."""

_TRUNK_PATTERNS: Final = frozenset({"trunk_flexion", "trunk_rotation", "trunk_stability", "get_up"})
"""Patterns that the trunk limits. Practice."""

_TRUNK_MUSCLES: Final = frozenset({"abdominals", "obliques", "spinal_erectors"})
"""Muscles of the trunk. Practice."""


def barrier(first: ExerciseFacts, second: ExerciseFacts) -> Barrier | None:
    """Say why two exercises may not share a block; None where they may."""
    station = first.station or first.key
    if station == (second.station or second.key) and station not in SHARED_STATIONS:
        return "station"
    return shared_limit(first, second)


def shared_limit(first: ExerciseFacts, second: ExerciseFacts) -> Literal["grip", "trunk"] | None:
    """Say what is the limit of both of two exercises; None where nothing is."""
    if _grip_limits(first) and _grip_limits(second):
        return "grip"
    if _trunk_limits(first) and _trunk_limits(second):
        return "trunk"
    return None


def shared_limit_findings(block: Block, exercises: Mapping[str, ExerciseFacts], place: str) -> Iterator[Finding]:
    """Tell the slots of a pairing that one limit ends, each at the later of the two.

    Args:
        block: a pairing.
        exercises: facts by exercise key; an exercise that is missing is passed over.
        place: the block's JSON Pointer.
    """
    for (_, first), (index, second) in combinations(enumerate(block.slots), 2):
        known = exercises.get(first.exercise), exercises.get(second.exercise)
        limit = None if known[0] is None or known[1] is None else shared_limit(known[0], known[1])
        if limit is not None:
            yield Finding(
                severity="note",
                code="limit_twice",
                message=(
                    f"{first.slot_key} and {second.slot_key} both end where the {limit} does: "
                    "the one that comes second stops too early."
                ),
                pointer=f"{place}/slots/{index}/exercise",
                rule="Grip or trunk is not the limit twice in one pairing.",
                source="Practice.",
                suggestion=f"Pair one of them with work that spares the {limit}, or put it into a block of its own.",
                figure=Decimal(2),
                bound=Decimal(1),
                unit="slots",
            )


def _grip_limits(facts: ExerciseFacts) -> bool:
    if "forearms" in facts.primary_muscles:
        return True
    return facts.pattern in _GRIP_PATTERNS and "forearms" in facts.secondary_muscles


def _trunk_limits(facts: ExerciseFacts) -> bool:
    return facts.pattern in _TRUNK_PATTERNS or not _TRUNK_MUSCLES.isdisjoint(facts.primary_muscles)
