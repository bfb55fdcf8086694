"""Work capacity: the same session again, with its work and its work a minute.

Work in unlike units is never added up. Times are compared in `capacity_comparison`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from statistics import median
from typing import Final, Literal

from logs.analysis.constants import COMPARED_OCCURRENCES, EQUAL_WORK_RATIO
from logs.analysis.rounding import round_half_even_6

WorkUnit = Literal["tonnage_kg", "repetitions", "metres", "kilocalories"]

WORK_UNITS: Final[tuple[WorkUnit, ...]] = ("tonnage_kg", "repetitions", "metres", "kilocalories")
"""Units of work; a session's density is told in the first that it has. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionWork:
    """A session's work by unit; None is unknown, 0 is none of that kind.

    The tonnage is unknown as soon as one set's load is: a part of it would compare like with unlike. Two sessions in
    which as many loads are unknown are still compared by the tonnage of the others.
    """

    tonnage_kg: Decimal | None = Decimal(0)
    repetitions: Decimal | None = Decimal(0)
    metres: Decimal | None = Decimal(0)
    kilocalories: Decimal | None = Decimal(0)
    known_tonnage_kg: Decimal = Decimal(0)
    unknown_load_sets: int = 0

    def amount(self, unit: WorkUnit) -> Decimal | None:
        """Give the work in one unit."""
        amounts: dict[WorkUnit, Decimal | None] = {
            "tonnage_kg": self.tonnage_kg,
            "repetitions": self.repetitions,
            "metres": self.metres,
            "kilocalories": self.kilocalories,
        }
        return amounts[unit]


@dataclass(frozen=True, slots=True, kw_only=True)
class Occurrence:
    """A template's session as it was done once.

    Attributes:
        planned_session: Which planned session.
        local_date: When it was done.
        deload: It belongs to a planned deload week.
        work: What was done.
        minutes: How long it took; None when not known.
    """

    planned_session: str
    local_date: date
    work: SessionWork
    minutes: Decimal | None
    deload: bool = False

    def density(self, unit: WorkUnit) -> Decimal | None:
        """Give work a minute in one unit, to six places; None when either is not known or none was done."""
        amount = self.work.amount(unit)
        if not amount or not self.minutes:
            return None
        return round_half_even_6(Fraction(amount) / Fraction(self.minutes))


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkDifference:
    """By how much the work of two sessions differs in one unit: latest over earlier, less one; None from nothing."""

    unit: WorkUnit
    change_ratio: Decimal | None


def work_unit(occurrences: Sequence[Occurrence]) -> WorkUnit | None:
    """Choose the unit in which a template's density is told.

    Args:
        occurrences: Its sessions, oldest first.

    Returns:
        The first unit in which the latest session has work; None when it has none.

    Source: practice.
    """
    latest = occurrences[-1] if occurrences else None
    return next((unit for unit in WORK_UNITS if latest is not None and latest.work.amount(unit)), None)


def recent_density(occurrences: Sequence[Occurrence], unit: WorkUnit) -> tuple[Decimal | None, int]:
    """Give the median work a minute of the last sessions.

    Args:
        occurrences: A template's sessions, oldest first.
        unit: The unit of work.

    Returns:
        The median of the last three whose density is known, deloads left out, to six places, and how many they are.

    Source: practice.
    """
    known = [density for one in occurrences if not one.deload and (density := one.density(unit)) is not None]
    last = known[-COMPARED_OCCURRENCES:]
    return (round_half_even_6(Fraction(median(map(Fraction, last)))) if last else None), len(last)


def work_difference(latest: SessionWork, earlier: SessionWork) -> WorkDifference | None:
    """Find where two sessions' work differs most, beyond what counts as equal.

    Args:
        latest: The one session's work.
        earlier: The other's.

    Returns:
        None at equal work: in every unit that both know, within 5 % of the earlier.

    Source: practice.
    """
    apart = []
    for unit in WORK_UNITS:
        now, before = amounts_of_both(latest, earlier, unit)
        if now is None or before is None or abs(now - before) <= EQUAL_WORK_RATIO * before:
            continue
        change = Fraction(now) / Fraction(before) - 1 if before else None
        apart.append((abs(change) if change is not None else Fraction(2**31), unit, change))
    if not apart:
        return None
    _, unit, change = max(apart, key=lambda one: one[0])
    return WorkDifference(unit=unit, change_ratio=None if change is None else round_half_even_6(change))


def amounts_of_both(
    latest: SessionWork, earlier: SessionWork, unit: WorkUnit
) -> tuple[Decimal, Decimal] | tuple[None, None]:
    """Give the work of two sessions in one unit, as far as it may be compared.

    Args:
        latest: The one session's work.
        earlier: The other's.
        unit: The unit.

    Returns:
        Both amounts; of tonnage with loads unknown, that of the known ones where as many are unknown in both; else
        None and None.

    Source: practice.
    """
    now, before = latest.amount(unit), earlier.amount(unit)
    if unit == "tonnage_kg" and now is None and before is None:
        alike = latest.unknown_load_sets == earlier.unknown_load_sets > 0
        return (latest.known_tonnage_kg, earlier.known_tonnage_kg) if alike else (None, None)
    return (None, None) if now is None or before is None else (now, before)


def known_minutes(minutes: Iterable[Decimal | None]) -> Decimal | None:
    """Sum the minutes of a session's logs.

    Args:
        minutes: Of each log; None is unknown.

    Returns:
        The sum; None when one is unknown or there is none.

    Source: practice.
    """
    listed = list(minutes)
    known = [one for one in listed if one is not None]
    return sum(known, Decimal(0)) if known and len(known) == len(listed) else None
