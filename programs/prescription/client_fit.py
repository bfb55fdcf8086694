"""Whether a program's exercises fit a client: the things at hand, movements to avoid, complexity, minutes.

Everything found is a warning: the coach knows the person.
"""

from collections.abc import Iterable, Iterator, Mapping
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientLimits:
    """What a client has and can do.

    ``equipment`` empty means that it was not said, so nothing is held against it. ``avoided_movements`` are
    movement patterns or exercise keys. ``session_min`` is the minutes that a session may take, None if not said.
    """

    equipment: tuple[str, ...] = ()
    avoided_movements: tuple[str, ...] = ()
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
    at_hand = set(limits.equipment)
    for thing in limits.equipment:
        at_hand.update(_SERVES_AS.get(thing, ()))
    found = [warning for facts in exercises for warning in _exercise_warnings(facts, at_hand, limits)]
    if limits.session_min is not None and longest_min > limits.session_min:
        found.append(
            FitWarning(
                code="session_too_long",
                detail=f"The longest session may take {longest_min:f} min; the client has {limits.session_min}.",
            )
        )
    return tuple(found)


def _exercise_warnings(facts: ExerciseFacts, at_hand: set[str], limits: ClientLimits) -> Iterator[FitWarning]:
    lacking = [thing for thing in facts.equipment if thing not in at_hand]
    if at_hand and lacking:
        things = ", ".join(thing.replace("_", " ") for thing in lacking)
        yield FitWarning(
            code="missing_equipment",
            detail=f"{facts.name} needs {things}, which the client does not have.",
            exercise=facts.key,
        )
    if facts.pattern in limits.avoided_movements or facts.key in limits.avoided_movements:
        yield FitWarning(code="avoided_movement", detail=f"The client is to avoid {facts.name}.", exercise=facts.key)
    if facts.complexity > limits.max_complexity:
        yield FitWarning(
            code="too_complex",
            detail=f"{facts.name} has complexity {facts.complexity}; the client's limit is {limits.max_complexity}.",
            exercise=facts.key,
        )
