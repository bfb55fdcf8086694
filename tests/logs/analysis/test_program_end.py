"""A program of which little is left."""

from datetime import date, timedelta

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.overview import OverviewPolicy
from logs.analysis.program_end import program_runs_out_state

TODAY = date(2031, 3, 5)


def ahead(days: int) -> date:
    return TODAY + timedelta(days=days)


@pytest.mark.parametrize(("days", "holds"), [(11, False), (10, True), (1, True), (0, True), (-20, True)])
def test_a_program_runs_out_from_ten_days_before_its_last_session_on(days: int, holds: bool):
    state = program_runs_out_state(ahead(days), TODAY)
    assert (state.kind, state.scope, state.holds) == ("program_runs_out", "all", holds)
    assert (state.severity, state.action) == ("note", "note")
    assert state.figures == {"written_until": ahead(days).isoformat(), "days_left": days}


@pytest.mark.parametrize(
    ("days", "words"), [(3, "in 3 days"), (1, "tomorrow"), (0, "today"), (-1, "nothing is planned after it")]
)
def test_its_sentence_says_when(days: int, words: str):
    assert words in program_runs_out_state(ahead(days), TODAY).sentence


def test_who_has_no_program_has_none_that_runs_out():
    assert not program_runs_out_state(None, TODAY).holds


def test_it_is_silent_on_a_day_away_and_speaks_on_the_day_after():
    away = [DateSpan(ahead(-3), ahead(0))]
    assert not program_runs_out_state(ahead(2), TODAY, away).holds
    assert program_runs_out_state(ahead(2), ahead(1), away).holds


def test_a_longer_program_is_new_evidence():
    assert program_runs_out_state(ahead(2), TODAY).evidence != program_runs_out_state(ahead(9), TODAY).evidence


def test_the_days_are_those_of_the_morning_page():
    assert program_runs_out_state(ahead(20), TODAY, policy=OverviewPolicy(runs_out_days=21)).holds
