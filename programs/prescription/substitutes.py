"""Which exercises can stand in for another: how close they come, and what a client could then do.

Closeness adds up what pattern, muscles, ends, sides and loading have in common; it says nothing of the client.
What a client has and can do only takes exercises out.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from programs.prescription.client_fit import ClientLimits, FitWarning, exercise_warnings, fits
from programs.prescription.exercise_closeness import Closeness, closest
from programs.prescription.structure import ExerciseFacts
from programs.prescription.substitute_reasons import what_is_kept, what_is_lost


@dataclass(frozen=True, slots=True, kw_only=True)
class Substitute:
    """An exercise that a client can do in another's place, with sentences for the coach."""

    exercise: str
    exercise_name: str
    closeness_ratio: Decimal
    muscles_ratio: Decimal
    reasons: tuple[str, ...]
    lost: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseConflict:
    """An exercise of a program that does not fit a client, and what is proposed in its place.

    ``substitute`` is None where nothing that fits works the same muscles; ``lost`` then says so.
    """

    exercise: str
    exercise_name: str
    codes: tuple[str, ...]
    reason: str
    substitute: str | None
    substitute_name: str | None
    reasons: tuple[str, ...]
    lost: tuple[str, ...]


def rank_substitutes(
    exercise: ExerciseFacts, candidates: Iterable[ExerciseFacts], limits: ClientLimits
) -> tuple[Substitute, ...]:
    """Rank what a client can do in an exercise's place, the exercise itself first where it fits.

    Args:
        exercise: what is to be replaced.
        candidates: the catalogue.
        limits: what the client has and can do.
    """
    return tuple(
        substitute(exercise, close, limits) for close in closest(exercise, candidates) if fits(close.exercise, limits)
    )


def substitute(exercise: ExerciseFacts, close: Closeness, limits: ClientLimits) -> Substitute:
    """Say why an exercise stands in for another, and what is lost."""
    candidate = close.exercise
    return Substitute(
        exercise=candidate.key,
        exercise_name=candidate.name,
        closeness_ratio=close.closeness_ratio,
        muscles_ratio=close.muscles_ratio,
        reasons=what_is_kept(exercise, candidate, muscles_ratio=close.muscles_ratio, equipment=limits.equipment),
        lost=what_is_lost(exercise, candidate),
    )


@dataclass(slots=True)
class SubstituteFinder:
    """The catalogue as substitutes are sought in it for many clients: each exercise is ranked once."""

    candidates: Sequence[ExerciseFacts]
    _ranked: dict[str, tuple[Closeness, ...]] = field(default_factory=dict)

    def closest(self, exercise: ExerciseFacts) -> tuple[Closeness, ...]:
        """Rank what can stand in for an exercise, whoever the client."""
        if exercise.key not in self._ranked:
            self._ranked[exercise.key] = closest(exercise, self.candidates)
        return self._ranked[exercise.key]

    def conflicts(self, used: Sequence[ExerciseFacts], limits: ClientLimits) -> tuple[ExerciseConflict, ...]:
        """Find the exercises that do not fit a client, each with one that does.

        An exercise that the program uses already, or that stands in for another, is proposed only where
        nothing else fits.

        Args:
            used: the program's exercises, in the order in which they are to be told.
            limits: what the client has and can do.
        """
        taken = {facts.key for facts in used}
        found: list[ExerciseConflict] = []
        for facts in used:
            warnings = tuple(exercise_warnings(facts, limits))
            if warnings:
                close = self._first_fitting(facts, limits, taken)
                found.append(_conflict(facts, warnings, close, limits))
                if close is not None:
                    taken.add(close.exercise.key)
        return tuple(found)

    def _first_fitting(self, exercise: ExerciseFacts, limits: ClientLimits, taken: Collection[str]) -> Closeness | None:
        fitting = [close for close in self.closest(exercise) if fits(close.exercise, limits)]
        unused = [close for close in fitting if close.exercise.key not in taken]
        return next(iter([*unused, *fitting]), None)


def _conflict(
    facts: ExerciseFacts, warnings: Sequence[FitWarning], close: Closeness | None, limits: ClientLimits
) -> ExerciseConflict:
    found = None if close is None else substitute(facts, close, limits)
    nothing = f"Nothing in the catalogue that fits the client works what {facts.name} works; take it out, or ask."
    return ExerciseConflict(
        exercise=facts.key,
        exercise_name=facts.name,
        codes=tuple(dict.fromkeys(warning.code for warning in warnings)),
        reason=" ".join(warning.detail for warning in warnings),
        substitute=None if found is None else found.exercise,
        substitute_name=None if found is None else found.exercise_name,
        reasons=() if found is None else found.reasons,
        lost=(nothing,) if found is None else found.lost,
    )
