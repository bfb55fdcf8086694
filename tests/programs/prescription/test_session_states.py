from datetime import date
from decimal import Decimal

import pytest

from programs.prescription.session_states import (
    PerformedFacts,
    PlannedFacts,
    SessionState,
    SessionStatePolicy,
    session_state,
)

WEDNESDAY = date(2031, 3, 5)


def planned(**changes):
    facts = {
        "kind": "fixed_days",
        "local_date": WEDNESDAY,
        "window_start": WEDNESDAY,
        "window_end": WEDNESDAY,
        "work_sets": 20,
    }
    return PlannedFacts(**(facts | changes))


def floating(**changes):
    window = {"window_start": date(2031, 3, 3), "window_end": date(2031, 3, 9), "local_date": date(2031, 3, 9)}
    return planned(kind="any_days_in_week", **(window | changes))


def log(day, **changes):
    return PerformedFacts(**({"local_date": date(2031, 3, day), "finished": True, "work_sets": 20} | changes))


def state(facts, *logs, **options):
    return session_state(facts, logs, week_start=0, **options)


def test_done_on_its_date_is_done_however_late_the_log_arrives():
    assert state(planned(overdue=True), log(5)) == SessionState(state="done", performed_on=WEDNESDAY, work_sets=20)


@pytest.mark.parametrize("day", [3, 4, 6, 9])
def test_done_on_another_day_of_the_week_is_done_and_moved(day):
    told = state(planned(), log(day))
    assert (told.state, told.moved_from, told.late) == ("done", WEDNESDAY, False)


def test_done_before_its_week_is_done_and_moved():
    told = state(planned(), log(2))
    assert (told.state, told.moved_from) == ("done", WEDNESDAY)


def test_done_after_its_week_is_done_late():
    told = state(planned(overdue=True), log(10))
    assert (told.state, told.moved_from, told.late) == ("done_late", None, True)


def test_the_businesss_week_start_decides_what_is_late():
    sunday = log(9)
    assert session_state(planned(), [sunday], week_start=0).state == "done"
    assert session_state(planned(), [sunday], week_start=6).state == "done_late"


def test_a_floating_session_is_late_only_after_its_window_and_never_moved():
    assert [state(floating(), log(day)).state for day in (3, 9, 10)] == ["done", "done", "done_late"]
    assert state(floating(), log(4)).moved_from is None


@pytest.mark.parametrize(("sets", "expected"), [(14, "part_done"), (15, "done"), (20, "done"), (1, "part_done")])
def test_under_three_quarters_of_the_work_sets_is_part_done(sets, expected):
    assert state(planned(), log(5, work_sets=sets)).state == expected


def test_a_part_done_session_carries_its_reason_or_says_that_none_was_given():
    assert state(planned(), log(5, work_sets=3, cut_reason="gym closed")).cut_reason == "gym closed"
    assert state(planned(), log(5, work_sets=3)).cut_reason == "not said"
    assert state(planned(), log(5, cut_reason="in a hurry")).cut_reason == ""


def test_a_part_done_session_after_its_week_is_part_done_and_late():
    told = state(planned(), log(11, work_sets=3))
    assert (told.state, told.late) == ("part_done", True)


def test_a_finished_session_without_sets_is_taken_as_done_unless_it_was_cut_short():
    assert state(planned(), log(5, work_sets=0)).state == "done"
    assert state(planned(), log(5, work_sets=0, cut_reason="felt ill")).state == "part_done"


def test_a_session_without_work_sets_to_count_is_done():
    assert state(planned(work_sets=0), log(5, work_sets=0)).state == "done"


def test_several_logs_of_one_session_are_taken_together():
    told = state(planned(), log(6, work_sets=10), log(5, work_sets=6, finished=False))
    assert (told.state, told.work_sets, told.performed_on) == ("done", 16, WEDNESDAY)


def test_a_log_that_says_nothing_only_starts_the_session():
    told = state(planned(overdue=True), log(5, finished=False, work_sets=0))
    assert told == SessionState(state="started", performed_on=WEDNESDAY)


def test_sets_without_a_finish_count():
    assert state(planned(), log(5, finished=False, work_sets=4)).state == "part_done"


@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        (planned(), "planned"),
        (planned(overdue=True), "missed"),
        (planned(planned_as="excused", overdue=True), "excused"),
        (planned(planned_as="paused", overdue=True), "paused"),
    ],
)
def test_an_untouched_session_is_missed_once_overdue_unless_it_was_excused_or_paused(facts, expected):
    assert state(facts).state == expected


def test_an_excused_session_that_was_performed_all_the_same_is_done():
    assert state(planned(planned_as="excused"), log(5)).state == "done"


def test_a_business_may_set_its_own_share():
    policy = SessionStatePolicy(part_done_under_share=Decimal("0.5"))
    assert state(planned(), log(5, work_sets=10), policy=policy).state == "done"
