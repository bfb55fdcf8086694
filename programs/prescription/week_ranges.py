"""A week's sets, balances and time under tension, each against the published range, or said to have none.

Hard sets of a muscle are taken by the fractional count; sets whose effort is not said could lift it, and then nothing
is judged. A deload week is held against no range.

Source: Schoenfeld et al. 2017 J Sports Sci 35:1073-1082 (under 5, 5-9, 10 and more); Baz-Valle et al. 2022
(PMC8884877; beyond 20 only one muscle gained more). Balances are practice: no range of sets is published.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, Literal

from programs.prescription.constants import (
    BALANCE_MAX_RATIO,
    BALANCE_SETS_MIN,
    WEEK_SETS_ABOVE_STUDIED,
    WEEK_SETS_LOW,
)
from programs.prescription.volume import SETS_SOURCE, MuscleSets, Volume

WeekMeasure = Literal["weekly_sets", "push_pull", "knee_hip", "time_under_tension"]
WeekVerdict = Literal["under", "within", "over", "not_judged"]

BALANCE_SOURCE: Final = "Practice: no range of sets is published."
"""Ground of the balances. Practice."""

_TENSION_SOURCE: Final = "Practice."
"""What stands as the source where there is none. Practice."""

_HUNDREDTH: Final = Decimal("0.01")
"""Ratios are given to a hundredth. Practice."""

_BALANCE_MIN_RATIO: Final = 1 / BALANCE_MAX_RATIO
"""The greatest imbalance, the other way. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekReading:
    """One figure of a week against its range.

    ``figure`` is in ``unit`` (sets by the fractional count; pushes for each pull, knee- for each hip-dominant set;
    seconds, high reading), None where it can't be given. ``low`` and ``high`` bound the range, inclusive; both None
    where there is none. ``reason`` says why nothing is judged, or what lies behind a missing figure.
    """

    measure: WeekMeasure
    muscle: str | None
    figure: Decimal | None
    unit: str
    low: Decimal | None
    high: Decimal | None
    verdict: WeekVerdict
    source: str
    reason: str | None = None


def read_week(volume: Volume, tension_s: int, *, deload: bool) -> tuple[WeekReading, ...]:
    """Hold a week's figures against their ranges.

    Args:
        volume: the week's sets.
        tension_s: its time under tension in seconds, high reading.
        deload: whether it is a deload week, of which nothing is judged.
    """
    balance = volume.balance
    return (
        *(_muscle(muscle, deload=deload) for muscle in volume.muscles),
        _balance("push_pull", balance.push_sets, balance.pull_sets, ("pushes", "pulls"), deload=deload),
        _balance(
            "knee_hip",
            balance.knee_dominant_sets,
            balance.hip_dominant_sets,
            ("knee-dominant sets", "hip-dominant sets"),
            deload=deload,
        ),
        WeekReading(
            measure="time_under_tension",
            muscle=None,
            figure=Decimal(tension_s),
            unit="s",
            low=None,
            high=None,
            verdict="not_judged",
            source=_TENSION_SOURCE,
            reason="No range of weekly time under tension is published.",
        ),
    )


def _muscle(sets: MuscleSets, *, deload: bool) -> WeekReading:
    verdict, reason = _deload() if deload else _muscle_verdict(sets)
    return WeekReading(
        measure="weekly_sets",
        muscle=sets.muscle,
        figure=sets.fractional,
        unit="sets",
        low=WEEK_SETS_LOW,
        high=WEEK_SETS_ABOVE_STUDIED,
        verdict=verdict,
        source=SETS_SOURCE,
        reason=reason,
    )


def _muscle_verdict(sets: MuscleSets) -> tuple[WeekVerdict, str | None]:
    most = sets.fractional + sets.unknown_effort
    if sets.fractional > WEEK_SETS_ABOVE_STUDIED:
        return "over", None
    if most < WEEK_SETS_LOW:
        return "under", None
    if sets.fractional < WEEK_SETS_LOW or most > WEEK_SETS_ABOVE_STUDIED:
        return (
            "not_judged",
            f"The effort of {_plain(sets.unknown_effort)} more sets is not written: give them an RPE or a reserve.",
        )
    return "within", None


def _balance(measure: WeekMeasure, first: int, second: int, names: tuple[str, str], *, deload: bool) -> WeekReading:
    ratio = (Decimal(first) / second).quantize(_HUNDREDTH, rounding=ROUND_HALF_EVEN) if second else None
    verdict, reason = _deload() if deload else _balance_verdict(first, second, names)
    return WeekReading(
        measure=measure,
        muscle=None,
        figure=ratio,
        unit="ratio",
        low=_BALANCE_MIN_RATIO,
        high=BALANCE_MAX_RATIO,
        verdict=verdict,
        source=BALANCE_SOURCE,
        reason=reason,
    )


def _balance_verdict(first: int, second: int, names: tuple[str, str]) -> tuple[WeekVerdict, str | None]:
    if first + second < BALANCE_SETS_MIN:
        return "not_judged", f"{first} {names[0]} and {second} {names[1]} are too few to weigh."
    if first > second * BALANCE_MAX_RATIO:
        return "over", None if second else f"No {names[1]}."
    return ("under" if second > first * BALANCE_MAX_RATIO else "within"), None


def _deload() -> tuple[WeekVerdict, str]:
    return "not_judged", "A deload week is held against no range."


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
