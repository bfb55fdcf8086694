"""The matched comparison: the same lift at the same load, now against the last few times, in words.

It needs no formula and few sessions, so it stands beside every trend: the trend will often be undecided, and a coach
still needs an answer on Monday.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from coaching.measures.load import LoadUnit
from logs.analysis.constants import EQUAL_LOAD_RATIO, MATCHED_EXPOSURES, PARTED_SET_KINDS, PER_CENT
from logs.analysis.lift_lines import LiftSession, LiftSet
from logs.analysis.lift_words import (
    both_words,
    load_words,
    more_or_fewer,
    number,
    over_times,
    repetitions_words,
    tempo_words,
    weight,
)
from logs.analysis.strength import TempoClass, weekly_value

Basis = Literal["same_load", "same_repetitions", "none"]
Direction = Literal["more", "same", "fewer", "unknown"]
NoMatch = Literal["known", "no_sets", "first_time", "nothing_alike"]

BASES: Final[tuple[Basis, ...]] = ("same_load", "same_repetitions", "none")
"""What two exposures have in common. Practice."""
DIRECTIONS: Final[tuple[Direction, ...]] = ("more", "same", "fewer", "unknown")
"""Which way a comparison goes. Practice."""
NO_MATCHES: Final[tuple[NoMatch, ...]] = ("known", "no_sets", "first_time", "nothing_alike")
"""Why nothing is compared. Practice."""

_NONE_WORDS: Final[dict[NoMatch, str]] = {
    "no_sets": "No sets of this line in these weeks.",
    "first_time": "The first time on this line in these weeks: nothing to compare with yet.",
    "nothing_alike": "No earlier set at this load, and none of the same repetitions and effort: nothing to compare.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchedComparison:
    """The latest session of a line against earlier ones that are alike.

    Attributes:
        basis: `same_load` (within 1 %), `same_repetitions` (and equal effort), or `none`.
        reason: `known`, or why nothing is compared.
        direction: Of repetitions and reserve together, each against its median, where effort is known each time, else
            of repetitions alone; of load at the same repetitions.
        latest: The set compared; None without one.
        earlier: The sets it is held against, newest first, at most three.
        median_repetitions: Their median; None without any.
        median_in_reserve: Their median reserve; None unless known of each.
        median_load_kg: Their median load.
        sentence: The comparison in words, with its counts.
    """

    basis: Basis
    reason: NoMatch
    direction: Direction
    latest: LiftSet | None
    earlier: tuple[LiftSet, ...]
    median_repetitions: Decimal | None
    median_in_reserve: Decimal | None
    median_load_kg: Decimal | None
    sentence: str

    @property
    def n(self) -> int:
        """How many earlier times it rests on."""
        return len(self.earlier)


def matched_comparison(
    sessions: Sequence[LiftSession], line_class: TempoClass, unit: LoadUnit = "kg", exposures: int = MATCHED_EXPOSURES
) -> MatchedComparison:
    """Hold the latest session of a line against earlier ones that are alike.

    Args:
        sessions: The line's sessions, oldest first, deload and absent weeks left out.
        line_class: The line's tempo class.
        unit: The unit of the words.
        exposures: Most earlier sessions.

    Returns:
        At the heaviest load of the latest session that was lifted before, within 1 %: the best set (most repetitions,
        then most in reserve) of each session. Where no load was: the same repetitions and effort, by load.

    Source: practice.
    """
    if not sessions:
        return _no_match("no_sets", None)
    *before, now = sessions
    heaviest = sorted(now.sets, key=_strength, reverse=True)
    if not before:
        return _no_match("first_time", heaviest[0])
    for one in heaviest:
        alike = _latest(before, lambda other, one=one: equal_loads(one, other), exposures)  # type: ignore[misc]
        if alike:
            best = max((other for other in now.sets if equal_loads(one, other)), key=_effort)
            return _at_load(best, alike, line_class, unit)
    for one in heaviest:
        alike = _latest(before, lambda other, one=one: _equal_effort(one, other), exposures)  # type: ignore[misc]
        if alike:
            return _at_repetitions(one, alike, line_class, unit)
    return _no_match("nothing_alike", heaviest[0])


def equal_loads(one: LiftSet, other: LiftSet) -> bool:
    """Say whether two sets were at one load: within 1 % of the heavier, in one basis, both straight or both in parts.

    Args:
        one: A set with a load.
        other: Another.

    Returns:
        Whether they match.

    Source: practice.
    """
    if one.load_kg is None or other.load_kg is None or not _one_sort(one, other):
        return False
    return abs(one.load_kg - other.load_kg) <= EQUAL_LOAD_RATIO * max(abs(one.load_kg), abs(other.load_kg))


def _one_sort(one: LiftSet, other: LiftSet) -> bool:
    """Say whether loads mean the same, and repetitions too: a part of a cluster is no straight set."""
    parts = (one.kind in PARTED_SET_KINDS, other.kind in PARTED_SET_KINDS)
    return one.load_basis == other.load_basis and parts[0] == parts[1]


def _equal_effort(one: LiftSet, other: LiftSet) -> bool:
    known = one.in_reserve is not None and _one_sort(one, other)
    return known and (one.repetitions, one.in_reserve) == (other.repetitions, other.in_reserve)


def _latest(before: Sequence[LiftSession], alike: Callable[[LiftSet], bool], most: int) -> tuple[LiftSet, ...]:
    found: list[LiftSet] = []
    for session in reversed(before):
        fitting = [one for one in session.sets if alike(one)]
        if fitting:
            found.append(max(fitting, key=_strength_then_effort))
    return tuple(found[:most])


def _strength(one: LiftSet) -> tuple[Decimal, int]:
    return one.load_kg or Decimal(0), one.repetitions or 0


def _effort(one: LiftSet) -> tuple[int, Decimal]:
    return one.repetitions or 0, Decimal(-1) if one.in_reserve is None else one.in_reserve


def _strength_then_effort(one: LiftSet) -> tuple[int, Decimal, Decimal]:
    return *_effort(one), one.load_kg or Decimal(0)


def _at_load(
    latest: LiftSet, earlier: tuple[LiftSet, ...], line_class: TempoClass, unit: LoadUnit
) -> MatchedComparison:
    reps = Decimal(latest.repetitions or 0)
    median_reps = _median([Decimal(one.repetitions or 0) for one in earlier])
    more_reps = reps - median_reps
    beside = then = ""
    together, median_reserve, reserves = more_reps, None, _reserves(latest, earlier)
    change = f"{more_or_fewer(more_reps, 'repetition')}; effort is not known each time"
    if reserves is not None:
        now_left, median_reserve = reserves
        beside, then = f" at {number(now_left)} in reserve", f" at {number(median_reserve)} in reserve"
        together = more_reps + now_left - median_reserve
        change = both_words(more_reps, now_left - median_reserve)
    words = (
        f"{load_words(latest.load_kg or Decimal(0), latest.load_basis, unit)}{_tempo(latest, earlier, line_class)}: "
        f"{repetitions_words(reps)}{beside}, against {over_times(number(median_reps) + then, len(earlier))}: {change}."
    )
    return MatchedComparison(
        basis="same_load",
        reason="known",
        direction=_direction(together),
        latest=latest,
        earlier=earlier,
        median_repetitions=median_reps,
        median_in_reserve=median_reserve,
        median_load_kg=_median([one.load_kg or Decimal(0) for one in earlier]),
        sentence=words,
    )


def _at_repetitions(
    latest: LiftSet, earlier: tuple[LiftSet, ...], line_class: TempoClass, unit: LoadUnit
) -> MatchedComparison:
    load, median_load = latest.load_kg or Decimal(0), _median([one.load_kg or Decimal(0) for one in earlier])
    more = load - median_load
    whole = Decimal(0) if latest.body_kg is None else median_load + latest.body_kg
    share = f" ({number(abs(more) / whole * PER_CENT)} %)" if more and whole > 0 else ""
    change = f"{weight(abs(more), unit)} {'more' if more > 0 else 'less'}{share}" if more else "the same"
    sentence = (
        f"{repetitions_words(Decimal(latest.repetitions or 0))} at {number(latest.in_reserve or Decimal(0))} in reserve"
        f"{_tempo(latest, earlier, line_class)}: {load_words(load, latest.load_basis, unit)}, against "
        f"{over_times(load_words(median_load, latest.load_basis, unit), len(earlier))}: {change}."
    )
    return MatchedComparison(
        basis="same_repetitions",
        reason="known",
        direction=_direction(more),
        latest=latest,
        earlier=earlier,
        median_repetitions=Decimal(latest.repetitions or 0),
        median_in_reserve=latest.in_reserve,
        median_load_kg=median_load,
        sentence=sentence,
    )


def _no_match(reason: NoMatch, latest: LiftSet | None) -> MatchedComparison:
    return MatchedComparison(
        basis="none",
        reason=reason,
        direction="unknown",
        latest=latest,
        earlier=(),
        median_repetitions=None,
        median_in_reserve=None,
        median_load_kg=None,
        sentence=_NONE_WORDS[reason],
    )


def _reserves(latest: LiftSet, earlier: tuple[LiftSet, ...]) -> tuple[Decimal, Decimal] | None:
    """Give the reserve now and the median then; None unless known each time."""
    known = [one.in_reserve for one in earlier if one.in_reserve is not None]
    if latest.in_reserve is None or len(known) < len(earlier):
        return None
    return latest.in_reserve, _median(known)


def _tempo(latest: LiftSet, earlier: tuple[LiftSet, ...], line_class: TempoClass) -> str:
    return tempo_words({one.tempo for one in (latest, *earlier)}, line_class)


def _direction(change: Decimal) -> Direction:
    return "same" if not change else "more" if change > 0 else "fewer"


def _median(values: Sequence[Decimal]) -> Decimal:
    return weekly_value(values) or Decimal(0)
