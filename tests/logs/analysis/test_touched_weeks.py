"""Which weeks a weigh-in touches."""

from datetime import date, timedelta

import pytest

from logs.analysis.touched_weeks import weeks_touched_by_bodyweight

MONDAY = date(2031, 3, 3)
WEEK = timedelta(days=7)


def touched(day: date, until: date, week_start: int = 0) -> list[date]:
    return list(weeks_touched_by_bodyweight(day, week_start=week_start, until=until))


def test_a_late_weigh_in_reaches_the_weeks_of_the_28_days_after_it():
    assert touched(MONDAY, MONDAY + 10 * WEEK) == [MONDAY + week * WEEK for week in range(5)]


@pytest.mark.parametrize(("days_after", "weeks"), [(0, 1), (6, 1), (7, 2), (27, 4), (28, 5), (60, 5)])
def test_weeks_to_come_are_left_out(days_after: int, weeks: int):
    assert len(touched(MONDAY, MONDAY + timedelta(days=days_after))) == weeks


def test_the_own_week_is_touched_even_of_a_day_to_come():
    assert touched(MONDAY + timedelta(days=8), MONDAY) == [MONDAY + WEEK]


def test_weeks_start_where_the_business_starts_them():
    assert touched(MONDAY, MONDAY, week_start=6) == [MONDAY - timedelta(days=1)]
