"""Load on the person over days and weeks: description against their own history, and nothing more.

With equal sessions monotony mostly tells the days per week, and no figure here predicts an injury: so none has a band
and none opens a flag.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from statistics import median
from typing import Final, Literal

from coaching.measures.local_calendar import DateSpan
from logs.analysis.constants import (
    DAYS_PER_WEEK,
    OWN_WEEKS,
    OWN_WEEKS_AT_LEAST,
    QUOTIENT_PLACES,
)
from logs.analysis.load_days import LoadDay
from logs.analysis.session_load import Reason, monotony, strain

NoSpan = Reason | Literal["not_complete"]
NoComparison = Literal["known", "no_complete_week", "week_not_known", "week_away", "too_few_weeks"]

NO_COMPARISONS: Final[tuple[NoComparison, ...]] = (
    "known",
    "no_complete_week",
    "week_not_known",
    "week_away",
    "too_few_weeks",
)
"""Why a week is not compared. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPolicy:
    """What a business may change about the description of a week."""

    own_weeks: int = OWN_WEEKS
    """Latest complete weeks that a week is described against. Practice."""

    own_weeks_at_least: int = OWN_WEEKS_AT_LEAST
    """Fewest of them. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadSpan:
    """Seven days' load.

    Attributes:
        first: The first day.
        last: The last day.
        complete: Whether all seven days are over and within the history.
        total: The load that is known, in arbitrary units.
        sessions: Sessions logged.
        days_unknown: Days whose load is not known: with any, the total is only the part that is known.
        monotony: Mean over sample SD; None with the reason.
        strain: Total times monotony; None with the same reason.
        reason: `known`, or why there is neither: as `session_load` says, or `not_complete`.
    """

    first: date
    last: date
    complete: bool
    total: Decimal
    sessions: int
    days_unknown: int
    monotony: Decimal | None
    strain: Decimal | None
    reason: NoSpan


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadComparison:
    """The last complete week against the person's own weeks before it.

    Attributes:
        week_start: The week described; None without one.
        total: Its load.
        n: Weeks that it is described against, at most six, wholly known.
        median: Their median.
        low: The least of them.
        high: The greatest.
        change_pct: The week less the median, in percent of the median; None where that is 0.
        own_weeks: All the person's wholly known complete weeks before it.
        share_below: The share of those whose load was less.
        weeks_left_out: Of the latest six, those of which a day is unknown or of absence.
        reason: `known`, or why there is no comparison.
    """

    week_start: date | None = None
    total: Decimal | None = None
    n: int = 0
    median: Decimal | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    change_pct: Decimal | None = None
    own_weeks: int = 0
    share_below: Decimal | None = None
    weeks_left_out: int = 0
    reason: NoComparison = "known"


_DEFAULT = LoadPolicy()


def load_span(days: Sequence[LoadDay], *, complete: bool = True) -> LoadSpan:
    """Sum up seven days.

    Args:
        days: Seven days in order.
        complete: Whether all of them are over and within the history.

    Returns:
        Total, monotony and training strain with sample SD, as `session_load` gives them; without monotony where the
        days are not complete.

    Raises:
        ValueError: There are not seven days.

    Source: Foster 1998; sample SD is practice.
    """
    if len(days) != DAYS_PER_WEEK:
        raise ValueError(f"Give seven days, not {len(days)}.")
    loads = [day.load for day in days]
    found, strained = monotony(loads), strain(loads)
    return LoadSpan(
        first=days[0].local_date,
        last=days[-1].local_date,
        complete=complete,
        total=sum((load for load in loads if load is not None), Decimal(0)),
        sessions=sum(day.sessions for day in days),
        days_unknown=sum(load is None for load in loads),
        monotony=found.value if complete else None,
        strain=strained.value if complete else None,
        reason=found.reason if complete else "not_complete",
    )


def load_weeks(days: Sequence[LoadDay], *, week_start_of: date, as_of: date) -> list[LoadSpan]:
    """Cut a series into weeks.

    Args:
        days: Days running, from the first of the history to the last of the present week.
        week_start_of: The first day of any week: weeks start on its weekday.
        as_of: The last day that is over.

    Returns:
        Weeks oldest first, the first and the last perhaps in part. A week is complete when all its seven days are
        over and in the series.

    Raises:
        ValueError: No days.

    Source: the calendar.
    """
    by_date = {day.local_date: day for day in days}
    first = days[0].local_date
    start = first - timedelta(days=(first - week_start_of).days % DAYS_PER_WEEK)
    weeks = []
    while start <= days[-1].local_date:
        dates = [start + timedelta(days=offset) for offset in range(DAYS_PER_WEEK)]
        inside = all(day in by_date and day <= as_of for day in dates)
        weeks.append(load_span([by_date.get(day) or _nothing(day) for day in dates], complete=inside))
        start += timedelta(days=DAYS_PER_WEEK)
    return weeks


def load_comparison(
    weeks: Sequence[LoadSpan], policy: LoadPolicy = _DEFAULT, *, away: Sequence[DateSpan] = ()
) -> LoadComparison:
    """Describe the last complete week against the person's own weeks before it.

    Args:
        weeks: Weeks oldest first.
        policy: What a business may change.
        away: Absences: a week with a day of one is neither compared nor compared with.

    Returns:
        Median and range of the latest six wholly known weeks (four or more), and the share of all own weeks below.

    Source: practice.
    """
    complete = [week for week in weeks if week.complete]
    if not complete:
        return LoadComparison(reason="no_complete_week")
    week, before = complete[-1], complete[:-1]
    known = [one.total for one in before if _comparable(one, away)]
    latest = [one.total for one in before[-policy.own_weeks :] if _comparable(one, away)]
    left_out = min(len(before), policy.own_weeks) - len(latest)
    if not _comparable(week, away):
        reason: NoComparison = "week_not_known" if week.days_unknown else "week_away"
        return LoadComparison(week_start=week.first, own_weeks=len(known), weeks_left_out=left_out, reason=reason)
    if len(latest) < policy.own_weeks_at_least:
        return LoadComparison(
            week_start=week.first,
            total=week.total,
            n=len(latest),
            own_weeks=len(known),
            weeks_left_out=left_out,
            reason="too_few_weeks",
        )
    middle = median(latest)
    return LoadComparison(
        week_start=week.first,
        total=week.total,
        n=len(latest),
        median=middle,
        low=min(latest),
        high=max(latest),
        change_pct=round(100 * (week.total - middle) / middle, QUOTIENT_PLACES) if middle else None,
        own_weeks=len(known),
        share_below=round(Decimal(sum(total < week.total for total in known)) / len(known), QUOTIENT_PLACES),
        weeks_left_out=left_out,
    )


def _comparable(week: LoadSpan, away: Sequence[DateSpan]) -> bool:
    days = (week.first + timedelta(days=offset) for offset in range(DAYS_PER_WEEK))
    return not week.days_unknown and not any(day in span for day in days for span in away)


def _nothing(day: date) -> LoadDay:
    """Stand for a day outside the series, in a week that is not complete."""
    return LoadDay(local_date=day, kind="rest", load=Decimal(0), sessions=0, minutes=Decimal(0))
