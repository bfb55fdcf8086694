"""Whether exercises fit a client: the things at hand, movements and regions to spare, complexity, minutes.

Everything found is a warning: the coach knows the person.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from programs.prescription.structure import ExerciseFacts

_SERVES_AS: Final[Mapping[str, tuple[str, ...]]] = {
    "dumbbells": ("dumbbell",),
    "kettlebells": ("kettlebell",),
    "adjustable_bench": ("bench",),
}
"""What else a thing can be used as. Practice."""

_LEG_WORK: Final = frozenset({"squat", "lunge", "jump", "olympic", "locomotion", "get_up"})
_PRESSES: Final = frozenset({"horizontal_push", "vertical_push", "olympic", "throw", "get_up"})
_PULLS: Final = frozenset({"horizontal_pull", "vertical_pull"})

REGION_PATTERNS: Final[Mapping[str, frozenset[str]]] = {
    "knee": _LEG_WORK | {"knee_extension", "knee_flexion"},
    "hip": _LEG_WORK | {"hinge", "hip_isolation"},
    "groin": _LEG_WORK | {"hinge", "hip_isolation"},
    "thigh": _LEG_WORK | {"hinge", "knee_extension", "knee_flexion", "hip_isolation"},
    "ankle": _LEG_WORK | {"calf_raise"},
    "foot": _LEG_WORK | {"calf_raise"},
    "calf": frozenset({"calf_raise", "jump", "locomotion"}),
    "lower_back": frozenset({"squat", "hinge", "olympic", "carry", "trunk_flexion", "trunk_rotation", "throw"}),
    "back": frozenset({"squat", "hinge", "olympic", "carry", "trunk_flexion", "trunk_rotation", "throw"}) | _PULLS,
    "upper_back": _PULLS | {"carry", "olympic"},
    "chest": frozenset({"horizontal_push", "throw"}),
    "shoulder": _PRESSES | _PULLS | {"shoulder_isolation"},
    "elbow": _PRESSES | _PULLS | {"elbow_flexion", "elbow_extension"},
    "forearm": _PULLS | {"grip", "carry", "elbow_flexion"},
    "wrist": _PRESSES | {"grip", "carry", "elbow_flexion"},
    "hand": _PRESSES | _PULLS | {"grip", "carry", "hinge"},
    "neck": frozenset({"neck", "vertical_push", "olympic"}),
}
"""Patterns that load a body region, so that a sore shoulder never stops a squat. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientLimits:
    """What a client has and can do.

    ``equipment`` empty means that it was not said, so nothing is held against it. ``avoided_movements`` are
    movement patterns or exercise keys. ``avoided_regions`` are body regions to spare, such as ``knee`` or
    ``knee:left``, as a hold for pain names them; a region that no pattern is known to load bars nothing.
    ``session_min`` is the minutes that a session may take, None if not said.
    """

    equipment: tuple[str, ...] = ()
    avoided_movements: tuple[str, ...] = ()
    avoided_regions: tuple[str, ...] = ()
    max_complexity: int = 3
    session_min: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FitWarning:
    """One way in which a program does not fit; ``exercise`` is its key, or None where the whole session is meant."""

    code: Literal["missing_equipment", "avoided_movement", "too_complex", "session_too_long"]
    detail: str
    exercise: str | None = None


def fit_warnings(
    exercises: Iterable[ExerciseFacts], longest_min: Decimal, limits: ClientLimits
) -> tuple[FitWarning, ...]:
    """Find what of a program does not fit a client.

    Args:
        exercises: the exercises used, in the order in which they are to be told.
        longest_min: the high reading of the longest session, in minutes.
        limits: the client's.
    """
    found = [warning for facts in exercises for warning in exercise_warnings(facts, limits)]
    if limits.session_min is not None and longest_min > limits.session_min:
        found.append(
            FitWarning(
                code="session_too_long",
                detail=f"The longest session may take {longest_min:f} min; the client has {limits.session_min}.",
            )
        )
    return tuple(found)


def exercise_warnings(facts: ExerciseFacts, limits: ClientLimits) -> Iterator[FitWarning]:
    """Find the ways in which an exercise does not fit a client; none where it fits.

    Args:
        facts: the exercise.
        limits: the client's.
    """
    lacking = _lacking(facts, limits)
    if lacking:
        things = ", ".join(thing.replace("_", " ") for thing in lacking)
        yield FitWarning(
            code="missing_equipment",
            detail=f"{facts.name} needs {things}, which the client does not have.",
            exercise=facts.key,
        )
    if facts.pattern in limits.avoided_movements or facts.key in limits.avoided_movements:
        yield FitWarning(code="avoided_movement", detail=f"The client is to avoid {facts.name}.", exercise=facts.key)
    for region in limits.avoided_regions:
        word = region.partition(":")[0]
        if facts.pattern in REGION_PATTERNS.get(word, ()):
            detail = f"{facts.name} loads the {word.replace('_', ' ')}, which the client is to spare."
            yield FitWarning(code="avoided_movement", detail=detail, exercise=facts.key)
    if facts.complexity > limits.max_complexity:
        yield FitWarning(
            code="too_complex",
            detail=f"{facts.name} has complexity {facts.complexity}; the client's limit is {limits.max_complexity}.",
            exercise=facts.key,
        )


def fits(facts: ExerciseFacts, limits: ClientLimits) -> bool:
    """Say whether an exercise fits a client in every way."""
    return next(exercise_warnings(facts, limits), None) is None


def lacking_equipment(facts: ExerciseFacts, equipment: Collection[str]) -> tuple[str, ...]:
    """Give the things that an exercise needs and that are not at hand.

    Args:
        facts: the exercise.
        equipment: what is at hand; empty is nothing at all.
    """
    at_hand = set(equipment)
    for thing in equipment:
        at_hand.update(_SERVES_AS.get(thing, ()))
    return tuple(thing for thing in facts.equipment if thing not in at_hand)


def _lacking(facts: ExerciseFacts, limits: ClientLimits) -> tuple[str, ...]:
    return lacking_equipment(facts, limits.equipment) if limits.equipment else ()
