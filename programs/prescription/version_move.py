"""Where the days of a new version fall for someone who follows an older one already."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from coaching.measures.constants import DAYS_PER_WEEK
from coaching.measures.local_calendar import DateSpan
from programs.prescription.calendar import (
    CalendarError,
    CalendarTerms,
    DayKey,
    PlannedDate,
    ProgramWeek,
    calendar_conflict,
    planned_dates,
)

_Laid = tuple[CalendarTerms, Sequence[DateSpan]]


def dates_after_move(
    weeks: Sequence[ProgramWeek],
    terms: CalendarTerms,
    *,
    weekdays: Sequence[int],
    followed: Sequence[ProgramWeek],
    standing: Mapping[DayKey, date],
    pauses: Sequence[DateSpan] = (),
    absences: Sequence[DateSpan] = (),
) -> dict[DayKey, PlannedDate]:
    """Lay a new version's days on the calendar that a client's sessions stand on by now.

    Shifts and pauses have moved the sessions since the start, so the days are laid from the start that explains
    most of the dates as they stand: a week added at the end follows the last one.

    Args:
        weeks: the new version's weeks.
        terms: how the client follows it until now.
        weekdays: the weekdays from now on, for `fixed_days`.
        followed: the weeks planned until now.
        standing: the last day on which each session that is still to come is on time.
        pauses: spans in which the program stood still.
        absences: spans in which the client is excused.

    Returns:
        A date for every day of the new version.

    Raises:
        CalendarError: the weekdays and the version's days do not fit each other.

    Source: practice.
    """
    laid_by, standing_pauses = _best(_candidates(terms, standing, pauses), followed, standing)
    laid = planned_dates(
        weeks, replace(laid_by, weekdays=tuple(sorted(weekdays))), pauses=standing_pauses, absences=absences
    )
    return {(place.week_number, place.day_number): place for place in laid}


def _candidates(terms: CalendarTerms, standing: Mapping[DayKey, date], pauses: Sequence[DateSpan]) -> Iterator[_Laid]:
    yield terms, pauses
    if terms.kind == "in_sequence":
        return
    starts = {
        day - timedelta(days=(week_number - 1) * DAYS_PER_WEEK + offset)
        for (week_number, _), day in standing.items()
        for offset in range(DAYS_PER_WEEK)
    }
    for start in sorted(starts, reverse=True):
        yield replace(terms, start_date=start), ()


def _best(candidates: Iterable[_Laid], followed: Sequence[ProgramWeek], standing: Mapping[DayKey, date]) -> _Laid:
    best: tuple[int, _Laid] | None = None
    for laid in candidates:
        explained = _explained(laid, followed, standing)
        if best is None or explained > best[0]:
            best = explained, laid
        if explained == len(standing):
            break
    if best is None:
        raise CalendarError("There is no start to lay the version's days from.")
    return best[1]


def _explained(laid: _Laid, followed: Sequence[ProgramWeek], standing: Mapping[DayKey, date]) -> int:
    terms, pauses = laid
    if calendar_conflict(followed, terms):
        return 0
    places = planned_dates(followed, terms, pauses=pauses)
    return sum(standing.get((place.week_number, place.day_number)) == place.window_end for place in places)
