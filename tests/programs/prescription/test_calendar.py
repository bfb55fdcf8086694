from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coaching.measures.local_calendar import DateSpan, UnknownZoneError
from programs.prescription.calendar import (
    CalendarError,
    CalendarTerms,
    PlannedDate,
    ProgramWeek,
    calendar_conflict,
    client_move_refusal,
    due_at,
    planned_dates,
)

MONDAY = date(2031, 3, 3)
MON, TUE, WED, THU, FRI, SAT, SUN = range(7)


def program(*days_per_week):
    return [
        ProgramWeek(week_number=number, day_numbers=tuple(range(1, days + 1)))
        for number, days in enumerate(days_per_week, start=1)
    ]


def fixed(start=MONDAY, weekdays=(MON, WED, FRI)):
    return CalendarTerms(kind="fixed_days", start_date=start, weekdays=weekdays)


def floating(start=MONDAY, week_start=MON):
    return CalendarTerms(kind="any_days_in_week", start_date=start, week_start=week_start)


def sequence(start=MONDAY, late_after_days=3):
    return CalendarTerms(kind="in_sequence", start_date=start, late_after_days=late_after_days)


def laid(*args, **kwargs):
    return [(day.week_number, day.day_number, day.local_date.isoformat()) for day in planned_dates(*args, **kwargs)]


def test_fixed_days_fall_on_the_chosen_weekdays_in_order():
    assert laid(program(3, 3), fixed()) == [
        (1, 1, "2031-03-03"),
        (1, 2, "2031-03-05"),
        (1, 3, "2031-03-07"),
        (2, 1, "2031-03-10"),
        (2, 2, "2031-03-12"),
        (2, 3, "2031-03-14"),
    ]


def test_a_start_in_mid_week_begins_with_the_first_chosen_weekday_after_it():
    assert laid(program(3), fixed(start=date(2031, 3, 6))) == [
        (1, 1, "2031-03-07"),
        (1, 2, "2031-03-10"),
        (1, 3, "2031-03-12"),
    ]


def test_a_week_with_fewer_days_takes_the_first_of_the_chosen_weekdays():
    assert laid(program(3, 2), fixed())[3:] == [(2, 1, "2031-03-10"), (2, 2, "2031-03-12")]


def test_a_weekday_named_twice_takes_two_sessions():
    assert laid(program(3), fixed(weekdays=(MON, FRI, MON))) == [
        (1, 1, "2031-03-03"),
        (1, 2, "2031-03-03"),
        (1, 3, "2031-03-07"),
    ]


def test_fixed_days_cross_leap_day_and_the_turn_of_the_year():
    assert laid(program(1), fixed(start=date(2028, 2, 29), weekdays=(TUE,))) == [(1, 1, "2028-02-29")]
    assert laid(program(2), fixed(start=date(2026, 12, 31), weekdays=(THU, FRI))) == [
        (1, 1, "2026-12-31"),
        (1, 2, "2027-01-01"),
    ]


def test_floating_days_are_due_together_by_the_end_of_the_business_week():
    days = planned_dates(program(3, 3), floating(week_start=SUN, start=date(2031, 3, 4)))
    assert {(day.week_number, day.window_start, day.window_end, day.local_date) for day in days} == {
        (1, date(2031, 3, 4), date(2031, 3, 8), date(2031, 3, 8)),
        (2, date(2031, 3, 9), date(2031, 3, 15), date(2031, 3, 15)),
    }


@pytest.mark.parametrize(
    ("start", "window_start"),
    [(date(2031, 3, 7), date(2031, 3, 7)), (date(2031, 3, 8), date(2031, 3, 10))],
)
def test_a_first_week_too_short_for_its_sessions_is_left_for_the_next(start, window_start):
    assert planned_dates(program(3), floating(start=start))[0].window_start == window_start


def test_a_sequence_projects_the_slowest_pace_and_only_its_next_session_is_due():
    days = planned_dates(program(2, 1), sequence())
    assert [(day.window_start.day, day.window_end.day, day.waits) for day in days] == [
        (3, 5, False),
        (6, 8, True),
        (9, 11, True),
    ]


def test_a_sequence_moves_on_from_the_day_the_session_before_was_performed():
    days = planned_dates(program(2, 1), sequence(), performed={(1, 1): date(2031, 3, 3)})
    assert [(day.local_date.day, day.waits) for day in days] == [(5, False), (6, False), (9, True)]


def test_absent_days_do_not_count_towards_late_in_a_sequence():
    days = planned_dates(program(1), sequence(), absences=[DateSpan(date(2031, 3, 4), date(2031, 3, 8))])
    assert (days[0].local_date, days[0].planned_as) == (date(2031, 3, 10), "planned")


def test_sessions_on_absent_days_are_excused_and_the_program_goes_on():
    days = planned_dates(program(3, 3), fixed(), absences=[DateSpan(date(2031, 3, 5), date(2031, 3, 9))])
    assert [day.planned_as for day in days] == ["planned", "excused", "excused", "planned", "planned", "planned"]


@pytest.mark.parametrize(
    ("first", "last", "excused"),
    [(3, 5, [False, False, False]), (3, 8, [False, True, True]), (3, 9, [True, True, True]), (10, 12, [False] * 3)],
)
def test_a_floating_week_excuses_only_what_its_free_days_cannot_hold(first, last, excused):
    absence = DateSpan(date(2031, 3, first), date(2031, 3, last))
    days = planned_dates(program(3), floating(), absences=[absence])
    assert [day.planned_as == "excused" for day in days] == excused


def test_two_sessions_a_day_are_not_excused_for_want_of_days():
    days = planned_dates(program(9), floating())
    assert {day.planned_as for day in days} == {"planned"}


def test_a_pause_moves_what_has_not_come_by_whole_weeks():
    pause = DateSpan(date(2031, 3, 5), date(2031, 3, 13))
    assert laid(program(3, 3), fixed(), pauses=[pause]) == [
        (1, 1, "2031-03-03"),
        (1, 2, "2031-03-19"),
        (1, 3, "2031-03-21"),
        (2, 1, "2031-03-24"),
        (2, 2, "2031-03-26"),
        (2, 3, "2031-03-28"),
    ]


def test_two_pauses_move_one_after_the_other_in_whatever_order_they_are_given():
    first, second = DateSpan(date(2031, 3, 5), date(2031, 3, 6)), DateSpan(date(2031, 3, 12), date(2031, 3, 12))
    expected = [(1, 1, "2031-03-03"), (1, 2, "2031-03-19"), (1, 3, "2031-03-21")]
    assert laid(program(3), fixed(), pauses=[first, second]) == expected
    assert laid(program(3), fixed(), pauses=[second, first]) == expected


def test_a_pause_from_before_the_start_moves_nothing():
    pause = DateSpan(date(2031, 2, 20), date(2031, 3, 1))
    assert laid(program(1), fixed(weekdays=(MON,)), pauses=[pause]) == [(1, 1, "2031-03-03")]


@pytest.mark.parametrize("terms", [fixed(), floating(), sequence()])
def test_a_pause_without_an_end_holds_everything_from_then_on(terms):
    days = planned_dates(program(3, 3), terms, pauses=[DateSpan(date(2031, 3, 10), None)])
    held = [day.planned_as == "paused" for day in days]
    assert held == [day.local_date >= date(2031, 3, 10) for day in days]
    assert any(held)
    assert not held[0]


@given(
    st.dates(date(2026, 1, 1), date(2036, 1, 1)),
    st.lists(st.integers(0, 6), min_size=1, max_size=7, unique=True),
    st.integers(1, 8),
    st.integers(0, 40),
    st.integers(1, 30),
)
@settings(max_examples=80)
def test_no_session_falls_into_a_pause_and_weekdays_stay(start, weekdays, weeks, after, length):
    pause = DateSpan(start + timedelta(days=after), start + timedelta(days=after + length - 1))
    terms = CalendarTerms(kind="fixed_days", start_date=start, weekdays=tuple(weekdays))
    days = planned_dates(program(*[len(weekdays)] * weeks), terms, pauses=[pause])
    dates = [day.local_date for day in days]
    assert dates == sorted(set(dates))
    assert not any(day in pause for day in dates)
    assert {day.weekday() for day in dates} == set(weekdays)


@pytest.mark.parametrize(
    ("weeks", "terms", "words"),
    [
        (
            program(3),
            fixed(weekdays=(MON, WED)),
            "and 2 weekdays are chosen .Monday, Wednesday.; add 1",
        ),
        (program(2, 1), fixed(), "take away 1"),
        (program(1), fixed(weekdays=(7,)), "0 .Monday. to 6 .Sunday., not 7"),
        (program(1), fixed(weekdays=()), "chosen .none.; add 1"),
        ([], fixed(), "no training days"),
        (program(1), sequence(late_after_days=None), "needs late_after_days"),
        (program(1), sequence(late_after_days=0), "1 or more, not 0"),
        (program(1), floating(week_start=9), "not 9"),
        (program(1), CalendarTerms(kind="whenever", start_date=MONDAY), "not 'whenever'"),
    ],
)
def test_terms_that_do_not_fit_are_refused_with_what_to_change(weeks, terms, words):
    with pytest.raises(CalendarError, match=words):
        planned_dates(weeks, terms)
    assert calendar_conflict(weeks, terms)


def test_terms_that_fit_have_no_conflict():
    assert calendar_conflict(program(3), fixed()) == ""


@pytest.mark.parametrize(
    ("local_date", "zone_name", "grace_h", "expected"),
    [
        (date(2031, 3, 3), "Europe/Paris", 6, datetime(2031, 3, 4, 5, tzinfo=UTC)),
        # The clock goes forward and back in the night after.
        (date(2031, 3, 29), "Europe/Paris", 6, datetime(2031, 3, 30, 4, tzinfo=UTC)),
        (date(2031, 10, 25), "Europe/Paris", 6, datetime(2031, 10, 26, 5, tzinfo=UTC)),
        (date(2031, 3, 29), "Europe/Paris", 2, datetime(2031, 3, 30, 1, tzinfo=UTC)),
        (date(2031, 3, 3), "Asia/Kathmandu", 6, datetime(2031, 3, 4, 0, 15, tzinfo=UTC)),
        (date(2031, 3, 3), "UTC", 0, datetime(2031, 3, 4, tzinfo=UTC)),
        (date(2031, 3, 3), "UTC", 30, datetime(2031, 3, 5, 6, tzinfo=UTC)),
        # The day after does not exist in Apia; both days are due once, in order.
        (date(2011, 12, 29), "Pacific/Apia", 6, datetime(2011, 12, 30, 10, tzinfo=UTC)),
        (date(2011, 12, 30), "Pacific/Apia", 6, datetime(2011, 12, 30, 16, tzinfo=UTC)),
    ],
)
def test_a_session_is_due_at_the_grace_hour_on_the_clients_wall_clock(local_date, zone_name, grace_h, expected):
    assert due_at(local_date, zone_name, grace_h) == expected


def test_a_due_instant_needs_a_real_zone_and_no_negative_grace():
    with pytest.raises(UnknownZoneError):
        due_at(MONDAY, "Europe/Nowhere", 6)
    with pytest.raises(CalendarError, match="0 hours or more"):
        due_at(MONDAY, "UTC", -1)


def test_a_client_may_move_a_fixed_day_inside_its_week_only():
    planned = planned_dates(program(3), fixed())[1]
    for day, allowed in [(2, False), (3, True), (9, True), (10, False)]:
        refusal = client_move_refusal(planned, date(2031, 3, day), kind="fixed_days", week_start=MON)
        assert (refusal == "") is allowed
    assert "from 2031-03-03 to 2031-03-09" in client_move_refusal(
        planned, date(2031, 3, 10), kind="fixed_days", week_start=MON
    )


def test_floating_and_sequence_sessions_say_what_may_be_moved():
    day = PlannedDate(
        week_number=1,
        day_number=1,
        local_date=date(2031, 3, 9),
        window_start=date(2031, 3, 5),
        window_end=date(2031, 3, 9),
    )
    assert client_move_refusal(day, date(2031, 3, 5), kind="any_days_in_week", week_start=MON) == ""
    assert client_move_refusal(day, date(2031, 3, 4), kind="any_days_in_week", week_start=MON)
    assert "no fixed day" in client_move_refusal(day, date(2031, 3, 5), kind="in_sequence", week_start=MON)
