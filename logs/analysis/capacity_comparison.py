"""A session's time against earlier ones of its template at equal work, in numbers and words.

Times are compared only between sessions whose work is the same in every unit that both know. A deload session is marked
and compared with nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from statistics import median
from typing import Final, Literal

from logs.analysis.constants import COMPARED_OCCURRENCES, SAME_TIME_RATIO, TOLD_WORK_RATIO
from logs.analysis.rounding import round_half_even_6
from logs.analysis.work_capacity import (
    WORK_UNITS,
    Occurrence,
    SessionWork,
    WorkDifference,
    WorkUnit,
    amounts_of_both,
    work_difference,
)

Verdict = Literal["at_equal_work", "not_at_equal_work", "nothing_earlier", "minutes_unknown", "work_unknown", "deload"]

_WORDS: Final[dict[WorkUnit, str]] = {
    "tonnage_kg": "tonnage",
    "repetitions": "repetitions",
    "metres": "metres",
    "kilocalories": "kilocalories",
}


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
    alike = [one for one in alike if one.minutes][-COMPARED_OCCURRENCES:]
    times = [one.minutes for one in alike if one.minutes]
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
        sentence=f"{_alike_words(latest.work, [one.work for one in alike])}, {_time_words(change)} "
        f"({_short(latest.minutes)} against {_short(before)} min)"
        f"{_work_words(latest.work, [one.work for one in alike])}; {compared} sessions compared.",
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


def _alike_words(latest: SessionWork, earlier: Sequence[SessionWork]) -> str:
    if latest.tonnage_kg is not None and all(one.tonnage_kg is not None for one in earlier):
        return "Same session"
    if all(amounts_of_both(latest, one, "tonnage_kg")[0] is not None for one in earlier):
        return "Much the same repetitions, and tonnage where loads are known"
    return "Much the same repetitions, though loads are not known of the same sets"


def _work_words(latest: SessionWork, earlier: Sequence[SessionWork]) -> str:
    """Say by how much the work differs inside what counts as equal, lest it be read as time won or lost."""
    for unit in WORK_UNITS:
        pairs = [pair for one in earlier if (pair := amounts_of_both(latest, one, unit))[0] is not None]
        now, before = latest.amount(unit), [was for _now, was in pairs if was]
        if unit == "tonnage_kg" and now is None and pairs:
            now = pairs[0][0]
        if now and len(before) == len(earlier):
            change = round_half_even_6(Fraction(now) / Fraction(median(map(Fraction, before))) - 1)
            difference = WorkDifference(unit=unit, change_ratio=change)
            return f" with {_difference_words(difference)}" if abs(change) >= TOLD_WORK_RATIO else ""
    return ""


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
