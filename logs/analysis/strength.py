"""Estimated maxima, tempo classes and a lift's weekly value.

An estimate is an estimate: its formula, inputs and published error go with it, formulas never mix within a line, and
loads lifted at unlike tempos are never compared.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Final, Generic, Literal, TypeVar, overload

from logs.analysis.constants import (
    LINE_IN_RESERVE,
    LINE_REPETITIONS_TO_FAILURE,
    MAX_REPETITIONS_TO_FAILURE,
    PAUSED_S,
    ROOT_DIGITS,
    RPE_AT_NO_RESERVE,
    RPE_LOWEST_ESTIMATED,
    RPE_TOP,
    SLOW_ECCENTRIC_S,
    SLOW_REPETITION_S,
)
from logs.analysis.references import FORMULAS as FORMULAS_SOURCE
from logs.analysis.references import PREDICTION_ERROR
from logs.analysis.rounding import round_half_even_6
from programs.prescription.tempo import Tempo
from programs.prescription.vocabulary import RestfulEnd

Number = TypeVar("Number", Decimal, float)
Formula = Literal["epley", "brzycki", "lombardi", "oconner", "mayhew", "wathan", "lander"]
Confidence = Literal["normal", "low", "none"]
TempoClass = Literal["standard", "slow", "paused", "slow_paused", "unspecified", "assisted"]

_PRECISE = Context(prec=ROOT_DIGITS)


class EstimateError(ValueError):
    """Inputs of which no estimate can even be refused."""

    code = "invalid_estimate"


@dataclass(frozen=True, slots=True)
class Estimate(Generic[Number]):
    """An estimated maximum, or why there is none.

    Attributes:
        value_kg: The estimate in the load's own basis; None when there is none.
        confidence: `normal`, `low`, or `none` when there is no value.
        reason: Why the confidence is what it is: `within_bounds`, `over_10_repetitions`, `over_12_repetitions`,
            `over_3_in_reserve`, `unknown_effort`, `no_repetitions` or `no_load`.
        formula: The formula used.
        load_kg: The load that went in.
        repetitions: The repetitions that went in.
        in_reserve: The repetitions in reserve that went in; None when unknown.
        published_error: What studies found of such predictions.
        source: Where the formula comes from.
    """

    value_kg: Number | None
    confidence: Confidence
    reason: str
    formula: Formula
    load_kg: Number
    repetitions: int
    in_reserve: Decimal | float | None
    published_error: str = PREDICTION_ERROR
    source: str = FORMULAS_SOURCE

    @property
    def enters_line(self) -> bool:
        """Whether a lift's line takes it."""
        return self.confidence == "normal"


def _lombardi(repetitions: Fraction) -> Fraction:
    return Fraction(_PRECISE.power(_decimal(repetitions), Decimal("0.10")))


def _mayhew(repetitions: Fraction) -> Fraction:
    decay = Fraction(_PRECISE.exp(_decimal(repetitions * Fraction("-0.055"))))
    return 100 / (Fraction("52.2") + Fraction("41.9") * decay)


def _wathan(repetitions: Fraction) -> Fraction:
    decay = Fraction(_PRECISE.exp(_decimal(repetitions * Fraction("-0.075"))))
    return 100 / (Fraction("48.8") + Fraction("53.8") * decay)


def _decimal(value: Fraction) -> Decimal:
    return _PRECISE.divide(Decimal(value.numerator), Decimal(value.denominator))


FORMULAS: Final[Mapping[Formula, Callable[[Fraction], Fraction]]] = MappingProxyType(
    {
        "epley": lambda repetitions: 1 + repetitions / 30,
        "brzycki": lambda repetitions: 36 / (37 - repetitions),
        "lombardi": _lombardi,
        "oconner": lambda repetitions: 1 + Fraction("0.025") * repetitions,
        "mayhew": _mayhew,
        "wathan": _wathan,
        "lander": lambda repetitions: 100 / (Fraction("101.3") - Fraction("2.67123") * repetitions),
    }
)
"""Maximum per unit of load, by repetitions to failure. Source: agreeing secondary pages (Epley 1985, Brzycki 1993,
Lombardi 1989, O'Conner 1989, Mayhew 1992, Wathan 1994, Lander 1985); originals not seen."""


@overload
def estimated_maximum(
    load_kg: Decimal, repetitions: int, in_reserve: Decimal | float | None = 0, formula: Formula = "epley"
) -> Estimate[Decimal]: ...
@overload
def estimated_maximum(
    load_kg: float, repetitions: int, in_reserve: Decimal | float | None = 0, formula: Formula = "epley"
) -> Estimate[float]: ...
def estimated_maximum(
    load_kg: Decimal | float,
    repetitions: int,
    in_reserve: Decimal | float | None = 0,
    formula: Formula = "epley",
) -> Estimate[Decimal] | Estimate[float]:
    """Estimate the load of one repetition.

    Args:
        load_kg: The load of the set. A Decimal gives a Decimal, rounded half-even to six places; a float or whole
            number gives a float.
        repetitions: Whole repetitions done; of a set with segments, those of the first.
        in_reserve: Repetitions in reserve, also halves; None when the effort is unknown.
        formula: One of the seven formulas.

    Returns:
        The estimate. None above 12 repetitions to failure, above 3 in reserve, or with unknown effort; low confidence
        above 10 repetitions to failure. One repetition to failure is the load itself, by every formula.

    Raises:
        EstimateError: The formula is unknown, or a number is negative, not finite, or not whole where it must be.

    Source: the formulas as in FORMULAS; the bounds by Reynolds 2006, Halperin 2022, Hackett 2017, and practice.
    """
    if formula not in FORMULAS:
        raise EstimateError(f"The formula is one of {', '.join(FORMULAS)}, not {formula!r}.")
    if type(repetitions) is not int or repetitions < 0:
        raise EstimateError(f"Repetitions are a whole number from 0, not {repetitions!r}.")
    load = _fraction(load_kg, "The load in kg")
    reserve = None if in_reserve is None else _fraction(in_reserve, "The repetitions in reserve")
    if reserve is not None and reserve < 0:
        raise EstimateError(f"Repetitions in reserve are 0 or more, not {in_reserve}.")
    confidence, reason = _confidence(load, repetitions, reserve)
    value = load * _factor(repetitions, reserve, formula) if confidence != "none" and reserve is not None else None
    if isinstance(load_kg, Decimal):
        exact = None if value is None else round_half_even_6(value)
        return Estimate(exact, confidence, reason, formula, load_kg, repetitions, in_reserve)
    approximate = None if value is None else float(value)
    return Estimate(approximate, confidence, reason, formula, float(load_kg), repetitions, in_reserve)


def reserve_from_rpe(rpe: Decimal) -> Decimal | None:
    """Turn an exertion rating into repetitions in reserve.

    Args:
        rpe: Rating from 0 to 10.

    Returns:
        10 and 9.5 give 0; below that 10 minus the rating, so 8.5 gives 1.5; below 7 None, of which no estimate is
        made.

    Raises:
        EstimateError: The rating is outside 0 to 10.

    Source: Zourdos et al. 2016 J Strength Cond Res 30:267-275; the half rows from memory.
    """
    if not 0 <= rpe <= RPE_TOP:
        raise EstimateError(f"An exertion rating runs from 0 to 10, not {rpe}.")
    if rpe >= RPE_AT_NO_RESERVE:
        return Decimal(0)
    return RPE_TOP - rpe if rpe >= RPE_LOWEST_ESTIMATED else None


def tempo_class(tempo: Tempo | None, restful_end: RestfulEnd = "none") -> TempoClass:
    """Say with which other sets of a lift a set may be compared.

    Args:
        tempo: The tempo of the set; None when none was prescribed or said.
        restful_end: The exercise's restful end; a pause there is no working pause.

    Returns:
        `assisted` (no estimate), `slow` (eccentric of 4 s or more, or a repetition of 8 s or more), `paused` (a
        working pause of 2 s or more), `slow_paused`, `standard`, or `unspecified` without a tempo.

    Source: practice.
    """
    if tempo is None:
        return "unspecified"
    if tempo.assisted:
        return "assisted"
    slow = tempo.eccentric_s >= SLOW_ECCENTRIC_S or tempo.repetition_s() >= SLOW_REPETITION_S
    pauses = {"lengthened": tempo.lengthened_s, "shortened": tempo.shortened_s}
    paused = any(seconds >= PAUSED_S for end, seconds in pauses.items() if end != restful_end)
    if slow:
        return "slow_paused" if paused else "slow"
    return "paused" if paused else "standard"


def tempo_note(line_class: TempoClass) -> str:
    """Say what an estimate of a line is worth outside the standard tempo.

    Args:
        line_class: The line's tempo class.

    Returns:
        The note; empty for the standard class.

    Source: practice, after Wilk et al. 2018 (repetitions to failure fall with slower tempos).
    """
    return "" if line_class == "standard" else "an estimate at this tempo, for comparison only"


def session_best(estimates_kg: Iterable[Decimal]) -> Decimal | None:
    """Take a session's best estimate of one line.

    Args:
        estimates_kg: Estimates of the session's work sets that enter the line.

    Returns:
        The greatest; None when the session has none.

    Source: practice.
    """
    return max(estimates_kg, default=None)


def weekly_value(session_bests_kg: Iterable[Decimal]) -> Decimal | None:
    """Take a line's value of a week: the median of its sessions' bests.

    Args:
        session_bests_kg: One best per session.

    Returns:
        The median, rounded half-even to six places; None without sessions. A best of more sessions would be higher
        by noise alone.

    Source: practice.
    """
    ordered = sorted(session_bests_kg)
    if not ordered:
        return None
    middle = len(ordered) // 2
    pair = ordered[middle : middle + 1] if len(ordered) % 2 else ordered[middle - 1 : middle + 1]
    return round_half_even_6(sum(map(Fraction, pair), Fraction(0)) / len(pair))


def _confidence(load: Fraction, repetitions: int, reserve: Fraction | None) -> tuple[Confidence, str]:
    refusals = (
        (repetitions == 0, "no_repetitions"),
        (load <= 0, "no_load"),
        (reserve is None, "unknown_effort"),
        (reserve is not None and reserve > LINE_IN_RESERVE, "over_3_in_reserve"),
        (reserve is not None and repetitions + reserve > MAX_REPETITIONS_TO_FAILURE, "over_12_repetitions"),
    )
    for refused, reason in refusals:
        if refused:
            return "none", reason
    if reserve is not None and repetitions + reserve > LINE_REPETITIONS_TO_FAILURE:
        return "low", "over_10_repetitions"
    return "normal", "within_bounds"


def _factor(repetitions: int, reserve: Fraction, formula: Formula) -> Fraction:
    to_failure = repetitions + reserve
    return Fraction(1) if to_failure == 1 else FORMULAS[formula](to_failure)


def _fraction(value: Decimal | float, name: str) -> Fraction:
    try:
        return Fraction(value)
    except (ValueError, OverflowError, TypeError) as fault:
        raise EstimateError(f"{name} must be a finite number, not {value!r}.") from fault
