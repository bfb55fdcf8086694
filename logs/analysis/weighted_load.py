"""Load weighted exponentially over days: a description of a person's own history, without bands and without flags."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from logs.analysis.constants import ACUTE_DAYS, CHRONIC_DAYS, MOST_UNKNOWN_DAYS
from logs.analysis.load_days import LoadDay
from logs.analysis.session_load import ewma

NoMean = Literal["known", "nothing_logged", "under_28_days", "too_many_unknown_days", "no_load"]

NO_MEANS: Final[tuple[NoMean, ...]] = (
    "known",
    "nothing_logged",
    "under_28_days",
    "too_many_unknown_days",
    "no_load",
)
"""Why there is no weighted mean. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightedLoadPolicy:
    """What a business may change about weighted load."""

    most_unknown_days: int = MOST_UNKNOWN_DAYS
    """With more unknown days among the last 28 no weighted mean is shown; nor with more of them than days trained
    among the last 28 or the last 7, since the mean would be of the rest days between. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightedLoad:
    """The exponentially weighted means on the last day.

    Attributes:
        as_of: The last day; None when nothing was logged.
        history_days: Days since the first one whose load is known.
        days_unknown: Of those, unknown ones, on which each mean stayed as it was.
        days_unknown_of_last_28: Those among the last 28 days.
        acute: The mean of span 7; None with a reason.
        chronic: The mean of span 28.
        ratio: Acute over chronic, as description only; None also where chronic is 0.
        reason: `known`, or why there are none.
        daily: Both means of each day from the 28th of the history on, by date.
    """

    as_of: date | None
    history_days: int
    days_unknown: int
    days_unknown_of_last_28: int
    acute: float | None
    chronic: float | None
    ratio: float | None
    reason: NoMean
    daily: dict[date, tuple[float, float]]


_DEFAULT = WeightedLoadPolicy()


def weighted_load(days: Sequence[LoadDay], policy: WeightedLoadPolicy = _DEFAULT) -> WeightedLoad:
    """Weight days exponentially with spans of 7 and 28 days.

    Args:
        days: Days running, up to the last that is over; those before the first known load are left out.
        policy: What a business may change.

    Returns:
        Both means from the 28th day of history on. On an unknown day each mean stays as it was; with more than seven
        unknown days among the last 28, or more of them than days trained there or in the last seven, there is none.

    Source: Williams et al. 2017; first day as seed, the wait and the bound on unknown days are practice.
    """
    history = list(days)
    while history and history[0].load is None:
        history = history[1:]
    if not history:
        return _no_means(as_of=None, history_days=0, unknown=0, lately=0, reason="nothing_logged")
    loads = [None if day.load is None else float(day.load) for day in history]
    unknown, lately = loads.count(None), loads[-CHRONIC_DAYS:].count(None)
    as_of, n = history[-1].local_date, len(history)
    if n < CHRONIC_DAYS:
        return _no_means(as_of=as_of, history_days=n, unknown=unknown, lately=lately, reason="under_28_days")
    acute, chronic = ewma(loads, ACUTE_DAYS), ewma(loads, CHRONIC_DAYS)
    daily = {
        day.local_date: (short, long)
        for number, (day, short, long) in enumerate(zip(history, acute, chronic, strict=True), start=1)
        if number >= CHRONIC_DAYS and _known_enough(history[number - CHRONIC_DAYS : number], policy)
    }
    if not _known_enough(history[-CHRONIC_DAYS:], policy):
        return _no_means(
            as_of=as_of, history_days=n, unknown=unknown, lately=lately, reason="too_many_unknown_days", daily=daily
        )
    return WeightedLoad(
        as_of=as_of,
        history_days=n,
        days_unknown=unknown,
        days_unknown_of_last_28=lately,
        acute=acute[-1],
        chronic=chronic[-1],
        ratio=acute[-1] / chronic[-1] if chronic[-1] else None,
        reason="known" if chronic[-1] else "no_load",
        daily=daily,
    )


def _known_enough(days: Sequence[LoadDay], policy: WeightedLoadPolicy) -> bool:
    """Say whether a mean over days rests on what was done, not on the rest days between what is unknown."""
    unknown = [sum(day.load is None for day in span) for span in (days, days[-ACUTE_DAYS:])]
    trained = [sum(bool(day.load) for day in span) for span in (days, days[-ACUTE_DAYS:])]
    return unknown[0] <= policy.most_unknown_days and all(
        few <= many for few, many in zip(unknown, trained, strict=True)
    )


def _no_means(
    *,
    as_of: date | None,
    history_days: int,
    unknown: int,
    lately: int,
    reason: NoMean,
    daily: dict[date, tuple[float, float]] | None = None,
) -> WeightedLoad:
    return WeightedLoad(
        as_of=as_of,
        history_days=history_days,
        days_unknown=unknown,
        days_unknown_of_last_28=lately,
        acute=None,
        chronic=None,
        ratio=None,
        reason=reason,
        daily=daily or {},
    )
