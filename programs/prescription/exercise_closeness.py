"""How close one exercise comes to another: pattern, muscles, ends, sides and loading, whoever the client."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from programs.prescription.constants import (
    SECONDARY_SHARE,
    SUBSTITUTE_LATERALITY_WEIGHT,
    SUBSTITUTE_LOADING_WEIGHT,
    SUBSTITUTE_MUSCLES_MIN_RATIO,
    SUBSTITUTE_MUSCLES_WEIGHT,
    SUBSTITUTE_OTHER_PATTERN_MIN_RATIO,
    SUBSTITUTE_PATTERN_WEIGHT,
    SUBSTITUTE_RELATED_SHARE,
    SUBSTITUTE_RESTFUL_END_WEIGHT,
    SUBSTITUTE_START_WEIGHT,
)
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import Loading

_PLACES: Final = Decimal("0.0001")
_WHOLE: Final = Decimal(1)
_NOTHING: Final = Decimal(0)

_RELATED_PATTERNS: Final[frozenset[frozenset[str]]] = frozenset(
    {
        frozenset({"squat", "lunge"}),
        frozenset({"squat", "knee_extension"}),
        frozenset({"hinge", "hip_isolation"}),
        frozenset({"hinge", "knee_flexion"}),
        frozenset({"horizontal_push", "vertical_push"}),
        frozenset({"horizontal_pull", "vertical_pull"}),
        frozenset({"trunk_flexion", "trunk_stability"}),
        frozenset({"trunk_rotation", "trunk_stability"}),
        frozenset({"jump", "olympic"}),
        frozenset({"carry", "grip"}),
        frozenset({"locomotion", "steady_conditioning"}),
    }
)
"""Patterns that serve much the same purpose. Practice."""

_CONDITIONING: Final = frozenset({"locomotion", "steady_conditioning"})
"""Patterns trained for the engine: which muscles turn it matters less. Practice."""

_FREE_WEIGHTS: Final[frozenset[Loading]] = frozenset(
    {"barbell", "dumbbell_pair", "dumbbell", "kettlebell_pair", "kettlebell", "sandbag"}
)
_MACHINES: Final[frozenset[Loading]] = frozenset({"stack", "plate_machine"})
_WEIGHED: Final = _FREE_WEIGHTS | _MACHINES | {"sled"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Closeness:
    """How close an exercise comes to another, 0 to 1, with the muscles' part (cosine of their fractions)."""

    exercise: ExerciseFacts
    closeness_ratio: Decimal
    muscles_ratio: Decimal


def muscles_ratio(one: ExerciseFacts, other: ExerciseFacts) -> Decimal:
    """Compare the muscles of two exercises: the cosine of their fractions, primary 1 and secondary 0.5.

    Returns:
        0 for no muscle in common (or none known), 1 for the same in the same parts; four decimals.
    """
    mine, theirs = _fractions(one), _fractions(other)
    squares = sum((share * share for share in mine.values()), _NOTHING) * sum(
        (share * share for share in theirs.values()), _NOTHING
    )
    if not squares:
        return _NOTHING
    together = sum((share * theirs[muscle] for muscle, share in mine.items() if muscle in theirs), _NOTHING)
    return (together / squares.sqrt()).quantize(_PLACES, rounding=ROUND_HALF_EVEN)


def closeness(exercise: ExerciseFacts, candidate: ExerciseFacts) -> Closeness | None:
    """Reckon how close a candidate comes to an exercise.

    Args:
        exercise: what is to be replaced.
        candidate: what might stand in.

    Returns:
        None where it can't stand in: its sets are counted otherwise, or it works other muscles.
    """
    if not counted_alike(exercise, candidate):
        return None
    muscles = muscles_ratio(exercise, candidate)
    pattern = _pattern_share(exercise.pattern, candidate.pattern)
    if exercise.key != candidate.key and muscles < _least_muscles(exercise, pattern):
        return None
    total = (
        SUBSTITUTE_PATTERN_WEIGHT * pattern
        + SUBSTITUTE_MUSCLES_WEIGHT * (_WHOLE if exercise.key == candidate.key else muscles)
        + (SUBSTITUTE_START_WEIGHT if exercise.starts_at == candidate.starts_at else _NOTHING)
        + (SUBSTITUTE_RESTFUL_END_WEIGHT if exercise.restful_end == candidate.restful_end else _NOTHING)
        + (SUBSTITUTE_LATERALITY_WEIGHT if exercise.laterality == candidate.laterality else _NOTHING)
        + SUBSTITUTE_LOADING_WEIGHT * _loading_share(exercise.loading, candidate.loading)
    )
    return Closeness(
        exercise=candidate,
        closeness_ratio=total.quantize(_PLACES, rounding=ROUND_HALF_EVEN),
        muscles_ratio=muscles,
    )


def counted_alike(exercise: ExerciseFacts, candidate: ExerciseFacts) -> bool:
    """Say whether sets written for an exercise can be counted in another.

    The monitors of conditioning machines show time, distance and calories alike.
    """
    return exercise.measure == candidate.measure or exercise.loading == candidate.loading == "machine_monitor"


def closest(exercise: ExerciseFacts, candidates: Iterable[ExerciseFacts]) -> tuple[Closeness, ...]:
    """Rank what can stand in for an exercise, whoever the client: the exercise itself, then the closest.

    Among equals the simpler one comes first, then the one that moves more nearly as much of the body (as much as can
    be where the exercise is done with weights), then the alphabet decides.
    """
    moved = exercise.bodyweight_share or _WHOLE
    found = [close for candidate in candidates if (close := closeness(exercise, candidate)) is not None]
    return tuple(
        sorted(
            found,
            key=lambda close: (
                close.exercise.key != exercise.key,
                -close.closeness_ratio,
                close.exercise.complexity,
                abs(moved - close.exercise.bodyweight_share),
                close.exercise.key,
            ),
        )
    )


def _fractions(facts: ExerciseFacts) -> Mapping[str, Decimal]:
    return dict.fromkeys(facts.secondary_muscles, SECONDARY_SHARE) | dict.fromkeys(facts.primary_muscles, _WHOLE)


def _pattern_share(one: str, other: str) -> Decimal:
    if one == other:
        return _WHOLE
    return SUBSTITUTE_RELATED_SHARE if frozenset({one, other}) in _RELATED_PATTERNS else _NOTHING


def _least_muscles(exercise: ExerciseFacts, pattern_share: Decimal) -> Decimal:
    if not pattern_share:
        return SUBSTITUTE_OTHER_PATTERN_MIN_RATIO
    return _NOTHING if exercise.pattern in _CONDITIONING else SUBSTITUTE_MUSCLES_MIN_RATIO


def _loading_share(one: Loading, other: Loading) -> Decimal:
    if one == other:
        return _WHOLE
    alike = ({one, other} <= _FREE_WEIGHTS) or ({one, other} <= _MACHINES)
    if alike:
        return SUBSTITUTE_RELATED_SHARE
    return SUBSTITUTE_RELATED_SHARE**2 if {one, other} <= _WEIGHED else _NOTHING
