"""Where a new version's days fall for someone under way."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coaching.measures.local_calendar import DateSpan
from programs.prescription.calendar import CalendarError, CalendarTerms, DayKey, ProgramWeek, planned_dates
from programs.prescription.version_move import dates_after_move

MONDAY = date(2031, 3, 10)
TERMS = CalendarTerms(kind="fixed_days", start_date=MONDAY, weekdays=(0, 2, 4))


def weeks(count: int, days: int = 3) -> list[ProgramWeek]:
    return [ProgramWeek(week_number=week, day_numbers=tuple(range(1, days + 1))) for week in range(1, count + 1)]


def stands(terms: CalendarTerms, count: int, *, later: int = 0, pauses: Sequence[DateSpan] = ()) -> dict[DayKey, date]:
    return {
        (place.week_number, place.day_number): place.window_end + timedelta(days=later)
        for place in planned_dates(weeks(count), terms, pauses=pauses)
    }


def test_a_week_added_follows_the_last_one() -> None:
    laid = dates_after_move(weeks(3), TERMS, weekdays=(0, 2, 4), followed=weeks(2), standing=stands(TERMS, 2))
    assert [laid[3, number].local_date for number in (1, 2, 3)] == [
        date(2031, 3, 24),
        date(2031, 3, 26),
        date(2031, 3, 28),
    ]


def test_a_pause_that_is_over_is_reckoned_with() -> None:
    pauses = [DateSpan(MONDAY + timedelta(days=7), MONDAY + timedelta(days=13))]
    standing = stands(TERMS, 2, pauses=pauses)
    laid = dates_after_move(weeks(3), TERMS, weekdays=(0, 2, 4), followed=weeks(2), standing=standing, pauses=pauses)
    assert laid[2, 1].local_date == date(2031, 3, 24)
    assert laid[3, 1].local_date == date(2031, 3, 31)


def test_a_session_moved_on_its_own_does_not_move_the_weeks_to_come() -> None:
    standing = stands(TERMS, 2) | {(2, 3): date(2031, 4, 10)}
    laid = dates_after_move(weeks(3), TERMS, weekdays=(0, 2, 4), followed=weeks(2), standing=standing)
    assert laid[3, 1].local_date == date(2031, 3, 24)


def test_other_weekdays_are_laid_from_the_same_start() -> None:
    laid = dates_after_move(weeks(2, days=2), TERMS, weekdays=(1, 3), followed=weeks(2), standing=stands(TERMS, 2))
    assert [place.local_date for place in laid.values()] == [
        date(2031, 3, 11),
        date(2031, 3, 13),
        date(2031, 3, 18),
        date(2031, 3, 20),
    ]


def test_weekdays_that_do_not_fit_are_refused() -> None:
    with pytest.raises(CalendarError, match="weekdays"):
        dates_after_move(weeks(2, days=4), TERMS, weekdays=(0, 2, 4), followed=weeks(2), standing=stands(TERMS, 2))


@settings(max_examples=40, deadline=None)
@given(
    later=st.integers(-28, 28),
    start=st.dates(date(2031, 1, 1), date(2031, 12, 31)),
    weekdays=st.sets(st.integers(0, 6), min_size=3, max_size=3),
    length=st.integers(1, 8),
    over=st.integers(0, 5),
)
def test_however_far_sessions_were_shifted_the_old_weeks_stand_and_the_new_ones_go_on(
    later: int, start: date, weekdays: set[int], length: int, over: int
) -> None:
    before = CalendarTerms(kind="fixed_days", start_date=start, weekdays=tuple(sorted(weekdays)))
    standing = {key: day for key, day in stands(before, length, later=later).items() if key[0] > min(over, length - 1)}
    turned = tuple(sorted((weekday + later) % 7 for weekday in weekdays))
    terms = replace(before, weekdays=turned)
    laid = dates_after_move(weeks(length + 2), terms, weekdays=turned, followed=weeks(length), standing=standing)
    assert {key: laid[key].local_date for key in standing} == standing
    for number in (1, 2, 3):
        last = standing[length, number]
        assert [laid[length + more, number].local_date for more in (1, 2)] == [
            last + timedelta(days=7),
            last + timedelta(days=14),
        ]
