from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coaching.measures.local_calendar import (
    DateSpan,
    LocalCalendarError,
    UnknownZoneError,
    business_week,
    local_date_of,
    local_instant,
    week_start_of,
)

HARD_ZONES = (
    "Europe/Paris",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Africa/Casablanca",
    "Pacific/Apia",
    "America/New_York",
    "Africa/Cairo",
    "UTC",
)


@pytest.mark.parametrize(
    ("day", "wall_time", "zone_name", "expected"),
    [
        # An ordinary morning, and offsets that are no whole hours.
        (date(2031, 3, 4), time(7), "Europe/Paris", datetime(2031, 3, 4, 6, tzinfo=UTC)),
        (date(2031, 1, 1), time(6), "Asia/Kathmandu", datetime(2031, 1, 1, 0, 15, tzinfo=UTC)),
        # Gaps: 02:00 to 03:00 in Paris, 02:00 to 02:30 on Lord Howe.
        (date(2031, 3, 30), time(2, 30), "Europe/Paris", datetime(2031, 3, 30, 1, tzinfo=UTC)),
        (date(2031, 3, 30), time(2), "Europe/Paris", datetime(2031, 3, 30, 1, tzinfo=UTC)),
        (date(2031, 3, 30), time(3), "Europe/Paris", datetime(2031, 3, 30, 1, tzinfo=UTC)),
        (date(2031, 10, 5), time(2, 10), "Australia/Lord_Howe", datetime(2031, 10, 4, 15, 30, tzinfo=UTC)),
        # Folds: the first showing counts.
        (date(2031, 10, 26), time(2, 30), "Europe/Paris", datetime(2031, 10, 26, 0, 30, tzinfo=UTC)),
        (date(2031, 4, 6), time(1, 45), "Australia/Lord_Howe", datetime(2031, 4, 5, 14, 45, tzinfo=UTC)),
        # Casablanca leaves and regains its offset around Ramadan.
        (date(2026, 2, 15), time(2, 30), "Africa/Casablanca", datetime(2026, 2, 15, 1, 30, tzinfo=UTC)),
        (date(2026, 3, 22), time(2, 30), "Africa/Casablanca", datetime(2026, 3, 22, 2, tzinfo=UTC)),
        # Apia skipped a whole day.
        (date(2011, 12, 30), time(6), "Pacific/Apia", datetime(2011, 12, 30, 10, tzinfo=UTC)),
        (date(2011, 12, 31), time(0), "Pacific/Apia", datetime(2011, 12, 30, 10, tzinfo=UTC)),
        (date(2028, 2, 29), time(6), "America/New_York", datetime(2028, 2, 29, 11, tzinfo=UTC)),
    ],
)
def test_a_wall_time_is_the_first_instant_that_shows_it_or_comes_after_it(day, wall_time, zone_name, expected):
    assert local_instant(day, wall_time, zone_name) == expected


@given(
    st.dates(date(2005, 1, 1), date(2036, 12, 31)),
    st.integers(0, 24 * 60 - 1),
    st.sampled_from(HARD_ZONES),
)
@settings(max_examples=300)
def test_no_earlier_instant_of_the_day_shows_the_time_asked_for(day, minute, zone_name):
    wall = datetime.combine(day, time(minute // 60, minute % 60))
    instant = local_instant(day, wall.time(), zone_name)

    def shown(at):
        return at.astimezone(ZoneInfo(zone_name)).replace(tzinfo=None, fold=0)

    assert shown(instant) >= wall
    assert shown(instant - timedelta(seconds=1)) < wall or shown(instant - timedelta(seconds=1)) > shown(instant)


@pytest.mark.parametrize(
    ("instant", "zone_name", "day_ends_at", "expected"),
    [
        (datetime(2031, 3, 4, 23, 30, tzinfo=UTC), "Europe/Paris", time(0), date(2031, 3, 5)),
        (datetime(2031, 3, 4, 23, 30, tzinfo=UTC), "Europe/Paris", time(4), date(2031, 3, 4)),
        (datetime(2031, 3, 5, 3, 0, tzinfo=UTC), "Europe/Paris", time(4), date(2031, 3, 5)),
        (datetime(2031, 1, 1, 2, 0, tzinfo=UTC), "Europe/Paris", time(4), date(2030, 12, 31)),
        (datetime(2028, 3, 1, 6, 0, tzinfo=UTC), "America/New_York", time(4), date(2028, 2, 29)),
        # 02:00 on 31 December in Apia: the day before was the 29th, since the 30th never came.
        (datetime(2011, 12, 30, 12, tzinfo=UTC), "Pacific/Apia", time(4), date(2011, 12, 29)),
    ],
)
def test_what_happens_before_the_day_ends_belongs_to_the_day_before(instant, zone_name, day_ends_at, expected):
    assert local_date_of(instant, zone_name, day_ends_at) == expected


def test_an_instant_without_an_offset_has_no_local_date():
    with pytest.raises(LocalCalendarError, match="offset"):
        local_date_of(datetime(2031, 3, 4, 7), "Europe/Paris")
    with pytest.raises(LocalCalendarError, match="without a zone"):
        local_instant(date(2031, 3, 4), time(7, tzinfo=UTC), "Europe/Paris")


@pytest.mark.parametrize("name", ["Europe/Pariss", "", "../etc/passwd", "America", "Mars/Olympus", "a\0b", None, 5])
def test_a_wrong_zone_is_refused_by_name(name):
    with pytest.raises(UnknownZoneError, match="There is no time zone"):
        local_instant(date(2031, 3, 4), time(7), name)


def test_a_mistyped_zone_is_answered_with_the_near_one():
    with pytest.raises(UnknownZoneError, match="Did you mean Europe/Paris"):
        local_date_of(datetime(2031, 3, 4, tzinfo=UTC), "Europe/Pariss")


def test_a_week_starts_on_the_businesss_day_across_the_year():
    # 2027-01-01 is a Friday, in ISO week 53 of 2026.
    assert business_week(date(2027, 1, 1), 0) == (date(2026, 12, 28), date(2027, 1, 3))
    assert business_week(date(2027, 1, 1), 6) == (date(2026, 12, 27), date(2027, 1, 2))
    assert week_start_of(date(2028, 2, 29), 2) == date(2028, 2, 23)


@given(st.dates(), st.integers(0, 6))
def test_each_day_lies_in_exactly_its_own_week(day, week_start):
    if not date(1, 1, 10) < day < date(9999, 12, 20):
        return
    first, last = business_week(day, week_start)
    assert first <= day <= last
    assert first.weekday() == week_start
    assert (last - first).days == 6


def test_a_week_start_outside_the_week_is_refused():
    with pytest.raises(LocalCalendarError, match=r"0 \(Monday\) to 6"):
        week_start_of(date(2031, 3, 4), 7)


def test_a_span_holds_both_its_ends_and_may_be_open():
    closed, open_ended = DateSpan(date(2031, 3, 1), date(2031, 3, 3)), DateSpan(date(2031, 3, 1), None)
    assert date(2031, 3, 1) in closed
    assert date(2031, 3, 3) in closed
    assert date(2031, 3, 4) not in closed
    assert date(2099, 1, 1) in open_ended
    with pytest.raises(LocalCalendarError, match="swap them"):
        DateSpan(date(2031, 3, 3), date(2031, 3, 1))
