"""Sessions on fixed days, put on other weekdays."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.weekday_change import dates_on_weekdays

MONDAY = date(2031, 3, 10)


def days(*offsets: int) -> list[date]:
    return [MONDAY + timedelta(days=offset) for offset in offsets]


def test_each_week_takes_the_new_weekdays_in_order() -> None:
    moved = dates_on_weekdays(days(0, 2, 4, 7, 9, 11), [1, 3, 5], from_date=MONDAY, week_start=0)
    assert moved == days(1, 3, 5, 8, 10, 12)


def test_nothing_falls_before_the_date() -> None:
    moved = dates_on_weekdays(days(4, 7, 9, 11), [1, 3, 5], from_date=days(4)[0], week_start=0)
    assert moved == days(5, 8, 10, 12)


def test_where_the_week_has_too_few_days_left_the_first_sessions_keep_theirs() -> None:
    moved = dates_on_weekdays(days(4, 6), [1, 5], from_date=days(4)[0], week_start=0)
    assert moved == days(4, 5)


def test_a_week_with_fewer_sessions_moves_them_least() -> None:
    assert dates_on_weekdays(days(2, 4), [1, 3, 5], from_date=MONDAY, week_start=0) == days(1, 3)
    assert dates_on_weekdays(days(0), [1, 3, 5], from_date=MONDAY, week_start=0) == days(1)


def test_the_business_week_decides_what_belongs_together() -> None:
    # The week starts on Sunday: the Sunday session belongs to the days after it.
    moved = dates_on_weekdays(days(-1, 1), [0, 2], from_date=days(-1)[0], week_start=6)
    assert moved == days(0, 2)


@settings(max_examples=60)
@given(
    st.sets(st.integers(0, 27), min_size=1, max_size=12),
    st.sets(st.integers(0, 6), min_size=1, max_size=7),
    st.integers(0, 6),
)
def test_every_session_stays_in_its_week_and_not_before_the_date(offsets, weekdays, week_start) -> None:
    before = days(*sorted(offsets))
    first = before[0]
    after = dates_on_weekdays(before, sorted(weekdays), from_date=first, week_start=week_start)
    assert len(after) == len(before)
    assert all(day >= first for day in after)
    for old, new in zip(before, after, strict=True):
        week = old - timedelta(days=(old.weekday() - week_start) % 7)
        assert week <= new < week + timedelta(days=7)
