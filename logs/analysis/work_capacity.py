"""Work capacity: the same session again, its work a minute, and its time at equal work.

Times are compared only between sessions whose work is the same in every unit that both know; work in unlike units is
never added up. A deload session is marked and compared with nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from statistics import median
from typing import Final, Literal

from logs.analysis.constants import COMPARED_OCCURRENCES, EQUAL_WORK_RATIO, SAME_TIME_RATIO
from logs.analysis.rounding import round_half_even_6

WorkUnit = Literal["tonnage_kg", "repetitions", "metres", "kilocalories"]
Verdict = Literal["at_equal_work", "not_at_equal_work", "nothing_earlier", "minutes_unknown", "work_unknown", "deload"]

WORK_UNITS: Final[tuple[WorkUnit, ...]] = ("tonnage_kg", "repetitions", "metres", "kilocalories")
"""Units of work; a session's density is told in the first that it has. Practice."""

_WORDS: Final[dict[WorkUnit, str]] = {
    "tonnage_kg": "tonnage",
    "repetitions": "repetitions",
    "metres": "metres",
    "kilocalories": "kilocalories",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionWork:
    """A session's work by unit; None is unknown, 0 is none of that kind.

    The tonnage is unknown as soon as one set's load is: a part of it would compare like with unlike.
    """

    tonnage_kg: Decimal | None = Decimal(0)
    repetitions: Decimal | None = Decimal(0)
    metres: Decimal | None = Decimal(0)
    kilocalories: Decimal | None = Decimal(0)

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


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacityComparison:
    """The latest session of a template against earlier ones at equal work.

    Attributes:
        verdict: `at_equal_work`, or why times are not compared.
        sessions: Sessions compared, the latest among them; 0 without a comparison.
        minutes: The latest session's; None when not known.
        earlier_minutes: Median of the latest earlier ones at equal work, three at most; None without any.
        change_ratio: Minutes over earlier minutes, less one, to six places.
        difference: Where the last earlier session's work differs most; None at equal work.
        sentence: The same in words.
    """

    verdict: Verdict
    sentence: str
    sessions: int = 0
    minutes: Decimal | None = None
    earlier_minutes: Decimal | None = None
    change_ratio: Decimal | None = None
    difference: WorkDifference | None = None


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
        now, before = latest.amount(unit), earlier.amount(unit)
        if now is None or before is None or abs(now - before) <= EQUAL_WORK_RATIO * before:
            continue
        change = Fraction(now) / Fraction(before) - 1 if before else None
        apart.append((abs(change) if change is not None else Fraction(2**31), unit, change))
    if not apart:
        return None
    _, unit, change = max(apart, key=lambda one: one[0])
    return WorkDifference(unit=unit, change_ratio=None if change is None else round_half_even_6(change))


def compare_latest(occurrences: Sequence[Occurrence]) -> CapacityComparison:
    """Compare the time of a template's latest session with earlier ones at equal work.

    Args:
        occurrences: Its sessions, oldest first, at least one.

    Returns:
        The verdict with its numbers and a sentence. It describes these sessions; a few of them prove no trend.

    Source: practice.
    """
    latest = occurrences[-1]
    earlier = [one for one in occurrences[:-1] if not one.deload and _has_work(one.work)]
    refused = _not_comparable(latest, earlier)
    if refused is not None:
        return refused
    alike = [one for one in earlier if _comparable(latest.work, one.work)]
    if not alike:
        return _unlike(latest, earlier[-1])
    times = [one.minutes for one in alike if one.minutes][-COMPARED_OCCURRENCES:]
    if not times or not latest.minutes:
        return CapacityComparison(
            verdict="minutes_unknown",
            minutes=latest.minutes,
            sentence="Work was equal, but the minutes of earlier sessions are not known, so times are not compared.",
        )
    before = round_half_even_6(Fraction(median(map(Fraction, times))))
    change = round_half_even_6(Fraction(latest.minutes) / Fraction(before) - 1)
    compared = len(times) + 1
    return CapacityComparison(
        verdict="at_equal_work",
        sessions=compared,
        minutes=latest.minutes,
        earlier_minutes=before,
        change_ratio=change,
        sentence=f"Same session, {_time_words(change)} ({_short(latest.minutes)} against {_short(before)} min); "
        f"{compared} sessions compared.",
    )


def _not_comparable(latest: Occurrence, earlier: Sequence[Occurrence]) -> CapacityComparison | None:
    why: tuple[Verdict, str] | None = None
    if latest.deload:
        why = ("deload", "The latest session was in a deload week and is compared with nothing.")
    elif not _has_work(latest.work):
        why = ("work_unknown", "The latest session's work is not known in any unit, so nothing is compared.")
    elif not latest.minutes:
        why = ("minutes_unknown", "The latest session's minutes are not known, so times are not compared.")
    elif not earlier:
        why = ("nothing_earlier", "There is no earlier session of this template to compare with.")
    if why is None:
        return None
    return CapacityComparison(verdict=why[0], sentence=why[1], minutes=latest.minutes)


def _unlike(latest: Occurrence, earlier: Occurrence) -> CapacityComparison:
    difference = work_difference(latest.work, earlier.work)
    said = "no unit of work is known of both"
    if difference is not None:
        said = f"{_difference_words(difference)} than on {earlier.local_date.isoformat()}"
    return CapacityComparison(
        verdict="not_at_equal_work",
        minutes=latest.minutes,
        difference=difference,
        sentence=f"Not at equal work: {said}, so times are not compared.",
    )


def _comparable(latest: SessionWork, earlier: SessionWork) -> bool:
    shared = any(latest.amount(unit) and earlier.amount(unit) for unit in WORK_UNITS)
    return shared and work_difference(latest, earlier) is None


def _has_work(work: SessionWork) -> bool:
    return any(work.amount(unit) for unit in WORK_UNITS)


def _difference_words(difference: WorkDifference) -> str:
    word = _WORDS[difference.unit]
    if difference.change_ratio is None:
        return f"more {word}"
    more = difference.change_ratio > 0
    return f"{abs(difference.change_ratio) * 100:.0f} % {'more' if more else 'less'} {word}"


def _time_words(change: Decimal) -> str:
    if abs(change) < SAME_TIME_RATIO:
        return "about the same time"
    return f"{abs(change) * 100:.0f} % {'more' if change > 0 else 'less'} time"


def _short(minutes: Decimal) -> str:
    return f"{minutes:.1f}".removesuffix(".0")


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
