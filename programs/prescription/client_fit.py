"""Whether exercises fit a client: the things at hand, movements and regions to spare, complexity, minutes.

Everything found is a warning: the coach knows the person.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from programs.prescription.movement_holds import ALL_SCOPE, Hold, HoldAction
from programs.prescription.session_pace import ClientPace, minutes_at_pace
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
    ``knee:left``; a region that no pattern is known to load bars nothing. ``holds`` are those for pain that stand.
    ``session_min`` is the minutes that a session may take, None if not said.
    """

    equipment: tuple[str, ...] = ()
    avoided_movements: tuple[str, ...] = ()
    avoided_regions: tuple[str, ...] = ()
    holds: tuple[Hold, ...] = ()
    max_complexity: int = 3
    session_min: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FitWarning:
    """One way in which a program does not fit; ``exercise`` is its key, or None where the whole session is meant."""

    code: Literal[
        "missing_equipment",
        "avoided_movement",
        "movement_held",
        "too_complex",
        "no_increase",
        "training_held",
        "session_too_long",
        "too_long_at_pace",
    ]
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
    found = [*training_warnings(limits)]
    for facts in exercises:
        found += [*exercise_warnings(facts, limits), *exercise_cautions(facts, limits)]
    if limits.session_min is not None and longest_min > limits.session_min:
        found.append(
            FitWarning(
                code="session_too_long",
                detail=f"The longest session may take {longest_min:f} min; the client has {limits.session_min}.",
            )
        )
    return tuple(found)


def pace_warnings(longest_mid_min: Decimal, limits: ClientLimits, pace: ClientPace | None) -> Iterator[FitWarning]:
    """Say that the longest session is too long at the client's usual pace, whatever the timeline says.

    Args:
        longest_mid_min: the middle of its planned low and high times, in minutes.
        limits: the client's.
        pace: the client's; None where nothing is known of it.
    """
    if limits.session_min is None or pace is None or pace.ratio is None:
        return
    minutes = minutes_at_pace(longest_mid_min, pace.ratio)
    if minutes > limits.session_min:
        yield FitWarning(
            code="too_long_at_pace",
            detail=f"At this client's usual pace, from {pace.sessions} sessions, the longest session takes about "
            f"{minutes} min; the client has {limits.session_min}.",
        )


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
    for what in _held(facts, limits, "stop_movement"):
        detail = f"{what}: it is left out until a coach releases it."
        yield FitWarning(code="movement_held", detail=detail, exercise=facts.key)
    if facts.complexity > limits.max_complexity:
        yield FitWarning(
            code="too_complex",
            detail=f"{facts.name} has complexity {facts.complexity}; the client's limit is {limits.max_complexity}.",
            exercise=facts.key,
        )


def exercise_cautions(facts: ExerciseFacts, limits: ClientLimits) -> Iterator[FitWarning]:
    """Say what is to be minded with an exercise that fits all the same: that its load is not to rise for now."""
    for what in _held(facts, limits, "no_increase"):
        detail = f"{what}: no more load or sets until a coach releases it."
        yield FitWarning(code="no_increase", detail=detail, exercise=facts.key)


def training_warnings(limits: ClientLimits) -> Iterator[FitWarning]:
    """Say that a client is not to train at all for now; nothing where none of the holds says so."""
    stops = [hold.from_date for hold in limits.holds if hold.action == "stop_training"]
    if stops:
        detail = f"Training is stopped since {min(stops)} for what was reported, until a coach releases it."
        yield FitWarning(code="training_held", detail=detail)


def hold_warnings(exercises: Iterable[ExerciseFacts], holds: Collection[Hold]) -> tuple[FitWarning, ...]:
    """Find what holds for pain say to a session, whatever else does not fit the client.

    Args:
        exercises: the session's, in order.
        holds: those that stand.
    """
    return fit_warnings(exercises, Decimal(0), ClientLimits(holds=tuple(holds))) if holds else ()


def fits(facts: ExerciseFacts, limits: ClientLimits) -> bool:
    """Say whether an exercise fits a client in every way; nothing does while training is stopped."""
    found = next(training_warnings(limits), None) or next(exercise_warnings(facts, limits), None)
    return found is None


def _held(facts: ExerciseFacts, limits: ClientLimits, action: HoldAction) -> list[str]:
    """Say what of an exercise is held with an action; the exercise's own hold only where no region says more."""
    holds = [hold for hold in limits.holds if hold.action == action]
    regions = [hold for hold in holds if hold.region and facts.pattern in REGION_PATTERNS.get(hold.region, ())]
    if regions:
        return [f"{facts.name} loads the {one.region_words}, held for pain since {one.from_date}" for one in regions]
    whole = [hold for hold in holds if hold.scope == ALL_SCOPE or hold.exercise == facts.key]
    return [f"{facts.name} is held for pain since {hold.from_date}" for hold in whole[:1]]


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
