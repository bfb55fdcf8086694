"""Quiet hours: nobody is written to at night, wherever and whenever that is."""

from datetime import UTC, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coaching.measures.local_calendar import UnknownZoneError, zone
from coaching.measures.quiet_hours import outside_quiet_hours

NINE, SEVEN = time(21), time(7)


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("instant", "allowed"),
    [
        ("2031-03-05T19:59", "2031-03-05T19:59"),  # 20:59 in Paris
        ("2031-03-05T20:00", "2031-03-06T06:00"),  # 21:00
        ("2031-03-05T23:30", "2031-03-06T06:00"),  # half past midnight
        ("2031-03-06T05:59", "2031-03-06T06:00"),
        ("2031-03-06T06:00", "2031-03-06T06:00"),  # 07:00
        ("2031-03-29T21:00", "2031-03-30T05:00"),  # the night in which the clocks go forward
        ("2031-10-25T20:00", "2031-10-26T06:00"),  # and back
    ],
)
def test_the_night_ends_at_seven_of_the_receivers_own_clock(instant: str, allowed: str) -> None:
    assert outside_quiet_hours(_at(instant), "Europe/Paris", NINE, SEVEN) == _at(allowed)


def test_quiet_hours_may_lie_within_a_day() -> None:
    siesta = (time(13), time(15))
    assert outside_quiet_hours(_at("2031-03-05T12:30"), "Europe/Paris", *siesta) == _at("2031-03-05T14:00")
    assert outside_quiet_hours(_at("2031-03-05T14:00"), "Europe/Paris", *siesta) == _at("2031-03-05T14:00")


def test_equal_ends_mean_no_quiet_hours() -> None:
    assert outside_quiet_hours(_at("2031-03-05T23:00"), "Europe/Paris", SEVEN, SEVEN) == _at("2031-03-05T23:00")


def test_an_end_that_the_clock_shows_twice_is_the_showing_ahead() -> None:
    # Half past two comes at 00:30 and at 01:30 UTC; at 01:10 UTC the first is over.
    night = (NINE, time(2, 30))
    assert outside_quiet_hours(_at("2031-10-26T00:10"), "Europe/Paris", *night) == _at("2031-10-26T00:30")
    assert outside_quiet_hours(_at("2031-10-26T01:10"), "Europe/Paris", *night) == _at("2031-10-26T01:30")


def test_an_end_that_the_clock_skips_is_the_first_instant_after() -> None:
    night = (NINE, time(2, 30))
    assert outside_quiet_hours(_at("2031-03-29T23:00"), "Europe/Paris", *night) == _at("2031-03-30T01:00")


def test_an_unknown_zone_is_refused() -> None:
    with pytest.raises(UnknownZoneError):
        outside_quiet_hours(_at("2031-03-05T12:00"), "Europe/Pari", NINE, SEVEN)


@settings(max_examples=150)
@given(
    minutes=st.integers(0, 366 * 24 * 60),
    zone_name=st.sampled_from(
        [
            "Europe/Paris",
            "Asia/Kathmandu",
            "Australia/Lord_Howe",
            "Pacific/Apia",
            "America/Chicago",
            "Africa/Casablanca",
        ]
    ),
    quiet_from=st.integers(18, 23),
    quiet_until=st.integers(4, 10),
)
def test_what_comes_back_is_never_earlier_never_quiet_and_at_most_a_night_away(
    minutes: int, zone_name: str, quiet_from: int, quiet_until: int
) -> None:
    instant = datetime(2031, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    allowed = outside_quiet_hours(instant, zone_name, time(quiet_from), time(quiet_until))
    assert instant <= allowed <= instant + timedelta(hours=18)
    wall = allowed.astimezone(zone(zone_name)).time()
    assert time(quiet_until) <= wall < time(quiet_from)
