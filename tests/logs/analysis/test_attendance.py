from datetime import date, timedelta

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.attendance import (
    AttendancePolicy,
    AttendedSession,
    FloatingWeek,
    gone_quiet_state,
    missed_in_a_row_state,
)
from logs.analysis.readiness import FlagRecord, advance

MONDAY = date(2031, 3, 3)


def on(offset):
    return MONDAY + timedelta(days=offset)


def sessions(*states):
    return [
        AttendedSession(identity=f"p{index}", local_date=on(2 * index), state=state)
        for index, state in enumerate(states)
    ]


def weeks(*counts, over=True):
    return [
        FloatingWeek(week_start=on(7 * index), due=due, attended=attended, over=over)
        for index, (due, attended) in enumerate(counts)
    ]


@pytest.mark.parametrize(
    ("states", "holds"),
    [
        (("missed", "missed"), True),
        (("done", "missed", "missed"), True),
        (("missed", "done", "missed"), False),
        (("missed", "missed", "done"), False),
        (("missed", "missed", "part_done"), False),
        (("missed", "missed", "started"), False),
        (("missed", "done_late"), False),
        (("missed", "excused", "missed"), True),
        (("missed", "paused", "excused"), False),
        (("missed", "missed", "planned", "planned"), True),
        (("missed",), False),
        ((), False),
    ],
)
def test_two_sessions_missed_running_raise_the_flag(states, holds):
    assert missed_in_a_row_state(sessions(*states)).holds is holds
    assert missed_in_a_row_state(sessions(*states)[::-1]).holds is holds


def test_absent_days_neither_break_a_run_nor_count_in_it():
    run = sessions("missed", "missed", "missed")
    holiday = [DateSpan(on(1), on(3))]
    state = missed_in_a_row_state(run, absences=holiday)
    assert (state.holds, state.figures["missed_sessions"]) == (True, 2)
    assert not missed_in_a_row_state(run, absences=[DateSpan(on(0), on(3))]).holds


@pytest.mark.parametrize(
    ("counts", "holds"),
    [
        (((3, 1), (3, 1)), True),
        (((4, 2), (4, 1)), False),
        (((3, 1), (3, 2)), False),
        (((3, 1), (0, 0), (3, 0)), True),
        (((3, 0),), False),
    ],
)
def test_two_floating_weeks_with_under_half_done_raise_the_flag(counts, holds):
    assert missed_in_a_row_state([], weeks(*counts)).holds is holds


def test_a_floating_week_counts_only_once_it_is_over_and_nobody_was_absent():
    assert not missed_in_a_row_state([], weeks((3, 0), (3, 0), over=False)).holds
    assert not missed_in_a_row_state([], weeks((3, 0), (3, 0)), absences=[DateSpan(on(9), on(9))]).holds


def test_three_in_a_row_say_that_it_is_time_to_escalate():
    assert missed_in_a_row_state(sessions("missed", "missed")).figures["escalate"] == "no"
    assert missed_in_a_row_state(sessions("missed", "missed", "missed")).figures["escalate"] == "yes"


def test_after_a_resolve_only_another_missed_session_reopens_the_flag():
    two = missed_in_a_row_state(sessions("missed", "missed"))
    resolved = FlagRecord(kind=two.kind, scope=two.scope, standing="resolved", evidence=two.evidence)
    assert advance(resolved, two).step == "none"
    assert advance(resolved, missed_in_a_row_state(sessions("missed", "missed", "missed"))).step == "open"


def quiet(today, contacts, *, start=0, absences=(), **options):
    return gone_quiet_state(
        today=on(today),
        start_date=None if start is None else on(start),
        contact_dates=[on(day) for day in contacts],
        absences=absences,
        **options,
    )


@pytest.mark.parametrize(
    ("contacts", "last_silent", "bound"),
    [
        # One contact, and daily contacts: the least bound.
        ((0,), 4, "4"),
        ((0, 1, 2, 3), 4, "4"),
        # Every third day: twice the gap.
        ((0, 3, 6, 9), 6, "6"),
        # Every second or third day: the median of an even count may be a half.
        ((0, 2, 5), 5, "5.0"),
        # Once a week would be 14: never more than 10.
        ((0, 7, 14), 10, "10"),
    ],
)
def test_silence_beyond_the_persons_own_habit_raises_the_flag(contacts, last_silent, bound):
    last = contacts[-1]
    before, after = quiet(last + last_silent, contacts), quiet(last + last_silent + 1, contacts)
    assert (before.holds, after.holds) == (False, True)
    assert after.figures["bound_days"] == bound
    assert after.figures["case"] == "gone_quiet"


def test_a_log_of_today_ends_the_silence():
    assert not quiet(20, (0, 20)).holds


def test_absent_days_are_no_silent_days():
    holiday = [DateSpan(on(1), on(14))]
    assert not quiet(10, (0,), absences=holiday).holds
    assert not quiet(18, (0,), absences=holiday).holds
    assert quiet(19, (0,), absences=holiday).holds


def test_an_open_pause_is_no_silence():
    assert not quiet(60, (0,), absences=[DateSpan(on(1), None)]).holds


@pytest.mark.parametrize(("today", "holds"), [(-1, False), (0, False), (2, False), (3, True), (9, True)])
def test_someone_who_never_started_is_told_three_days_after_the_start(today, holds):
    state = quiet(today, (-20,))
    assert state.holds is holds
    if holds:
        assert state.figures["case"] == "never_started"


def test_without_a_program_nobody_is_quiet():
    assert not quiet(50, (0,), start=None).holds


def test_after_a_resolve_the_same_silence_stays_closed_and_a_new_one_opens():
    state = quiet(9, (0,))
    resolved = FlagRecord(kind=state.kind, scope=state.scope, standing="resolved", evidence=state.evidence)
    assert advance(resolved, quiet(30, (0,))).step == "none"
    assert advance(resolved, quiet(30, (0, 12))).step == "open"


def test_a_business_may_set_its_own_bounds():
    assert quiet(3, (0,), policy=AttendancePolicy(quiet_min_days=2)).holds


@pytest.mark.parametrize("state", [missed_in_a_row_state(sessions("missed", "missed")), quiet(9, (0,))])
def test_absence_asks_for_contact_and_warns_of_conclusions(state):
    assert (state.action, state.severity) == ("contact", "watch")
    assert "ask before concluding" in state.caution
