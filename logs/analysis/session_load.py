"""Session load, monotony, training strain and the exponentially weighted mean.

Description against a person's own history only: nothing here predicts injury, and with equal sessions monotony mostly
tells the days per week. A day is a number, zero on a known rest day, or None when its load is not known.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Generic, Literal, TypeVar, overload

from logs.analysis.constants import MIN_DAYS_FOR_SD, SESSION_RPE_TOP
from logs.analysis.references import FOSTER
from logs.analysis.rounding import round_half_even_6, square_root

Number = TypeVar("Number", Decimal, float)
SdKind = Literal["sample", "population"]
Reason = Literal["known", "unknown_days", "all_rest", "zero_variance", "too_few_days"]


class DayLoadError(ValueError):
    """A day load, effort or span that makes no sense."""

    code = "invalid_day_load"


@dataclass(frozen=True, slots=True)
class Figure(Generic[Number]):
    """A figure, or why there is none.

    Attributes:
        value: The figure; None when there is none.
        reason: `known`, or why there is no value: `unknown_days` (a day's load is not known), `all_rest`,
            `zero_variance` (every day alike), `too_few_days` (under two).
        sd_kind: Which standard deviation was used.
        source: Where the figure comes from.
    """

    value: Number | None
    reason: Reason
    sd_kind: SdKind = "sample"
    source: str = FOSTER


def session_load(session_rpe: Decimal, duration_min: Decimal) -> Decimal:
    """Multiply a session's rating by its minutes.

    Args:
        session_rpe: Rating of the whole session, 0 to 10.
        duration_min: Minutes, 0 or more.

    Returns:
        Arbitrary units, exact.

    Raises:
        DayLoadError: A number is outside its range.

    Source: Foster 1998 Med Sci Sports Exerc 30:1164-1168.
    """
    if not 0 <= session_rpe <= SESSION_RPE_TOP:
        raise DayLoadError(f"A session's rating runs from 0 to 10, not {session_rpe}.")
    if not (duration_min.is_finite() and duration_min >= 0):
        raise DayLoadError(f"Minutes are 0 or more, not {duration_min}.")
    return session_rpe * duration_min


@overload
def monotony(  # type: ignore[overload-overlap]  # only a list of nothing but None is both
    day_loads: Sequence[Decimal | None], sd_kind: SdKind = "sample"
) -> Figure[Decimal]: ...
@overload
def monotony(day_loads: Sequence[float | None], sd_kind: SdKind = "sample") -> Figure[float]: ...
def monotony(
    day_loads: Sequence[Decimal | None] | Sequence[float | None], sd_kind: SdKind = "sample"
) -> Figure[Decimal] | Figure[float]:
    """Divide the mean day load by its standard deviation.

    Args:
        day_loads: One load per day, normally seven, rest days as zeros; None is an unknown day. Decimals give a
            Decimal rounded half-even to six places, floats a float.
        sd_kind: `sample` (n - 1, the default) or `population` (n).

    Returns:
        Monotony; no value with a reason when a day is unknown, all are rest, all are alike, or under two are given.

    Raises:
        DayLoadError: A load is negative or not finite.

    Source: Foster 1998; the kind of SD is not stated in its abstract, so the sample SD is practice.
    """
    days, reason = _known_days(day_loads)
    if reason != "known":
        return _figure(None, day_loads, reason, sd_kind)
    return _figure(square_root(_monotony_squared(days, sd_kind)), day_loads, "known", sd_kind)


@overload
def strain(  # type: ignore[overload-overlap]  # only a list of nothing but None is both
    day_loads: Sequence[Decimal | None], sd_kind: SdKind = "sample"
) -> Figure[Decimal]: ...
@overload
def strain(day_loads: Sequence[float | None], sd_kind: SdKind = "sample") -> Figure[float]: ...
def strain(
    day_loads: Sequence[Decimal | None] | Sequence[float | None], sd_kind: SdKind = "sample"
) -> Figure[Decimal] | Figure[float]:
    """Multiply the total load by monotony (training strain), rounding once at the end.

    Args:
        day_loads: As for `monotony`.
        sd_kind: `sample` (the default) or `population`.

    Returns:
        Strain in arbitrary units; no value with the same reasons as monotony.

    Raises:
        DayLoadError: A load is negative or not finite.

    Source: Foster 1998 Med Sci Sports Exerc 30:1164-1168.
    """
    days, reason = _known_days(day_loads)
    if reason != "known":
        return _figure(None, day_loads, reason, sd_kind)
    squared = _monotony_squared(days, sd_kind) * sum(days) ** 2
    return _figure(square_root(squared), day_loads, "known", sd_kind)


def ewma(day_loads: Sequence[float | None], span_days: int) -> list[float]:
    """Weight days exponentially, the last most.

    Args:
        day_loads: One load per day, rest days as zeros; None is an unknown day, on which the mean stays as it was.
            Unknown days before the first known one give no entry of their own kind: the seed is the first known day.
        span_days: N of lambda = 2 / (N + 1).

    Returns:
        One mean per day from the first known day on; empty when no day is known.

    Raises:
        DayLoadError: The span is under one day, or a load is negative or not finite.

    Source: Williams et al. 2017 Br J Sports Med 51:209-210; the first day as seed is custom.
    """
    if span_days < 1:
        raise DayLoadError(f"The span is one day or more, not {span_days}.")
    weight = 2 / (span_days + 1)
    means: list[float] = []
    for day in day_loads:
        load = None if day is None else float(_checked(day))
        if not means:
            means.extend([] if load is None else [load])
        else:
            means.append(means[-1] if load is None else load * weight + (1 - weight) * means[-1])
    return means


def _known_days(day_loads: Sequence[Decimal | None] | Sequence[float | None]) -> tuple[list[Fraction], Reason]:
    days = [_checked(day) for day in day_loads if day is not None]
    if len(days) < len(day_loads):
        return days, "unknown_days"
    if len(days) < MIN_DAYS_FOR_SD:
        return days, "too_few_days"
    if not any(days):
        return days, "all_rest"
    return days, "known" if len(set(days)) > 1 else "zero_variance"


def _monotony_squared(days: list[Fraction], sd_kind: SdKind) -> Fraction:
    """(mean / SD) squared, from exact sums: S^2 (n - 1) / (n (n Q - S^2)) for the sample SD."""
    n, total, squares = len(days), sum(days, Fraction(0)), sum((day**2 for day in days), Fraction(0))
    degrees = n - 1 if sd_kind == "sample" else n
    return total**2 * degrees / (n * (n * squares - total**2))


def _figure(
    value: Decimal | None,
    day_loads: Sequence[Decimal | None] | Sequence[float | None],
    reason: Reason,
    sd_kind: SdKind,
) -> Figure[Decimal] | Figure[float]:
    if value is None:
        nothing: Figure[Decimal] = Figure(None, reason, sd_kind)
        return nothing
    if all(isinstance(day, Decimal) for day in day_loads):
        return Figure(round_half_even_6(value), reason, sd_kind)
    return Figure(float(value), reason, sd_kind)


def _checked(day: Decimal | float) -> Fraction:
    try:
        load = Fraction(day)
    except (ValueError, OverflowError, TypeError) as fault:
        raise DayLoadError(f"A day's load must be a finite number, or None when unknown; not {day!r}.") from fault
    if load < 0:
        raise DayLoadError(f"A day's load is 0 or more, not {day}.")
    return load
