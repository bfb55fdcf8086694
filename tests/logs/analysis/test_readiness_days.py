"""Verdicts of days gone by: flags that stood, silence after a planned session, and nothing noted only after a log."""

from datetime import date, timedelta

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.overview import StandingFlag
from logs.analysis.readiness_days import FlagSpan, PlannedDay, ReadinessHistory, readiness_on

DAY = date(2031, 3, 5)


def ago(days: int) -> date:
    return DAY - timedelta(days=days)


def planned(days_ago: int, state: str = "done", performed_ago: int | None = None) -> PlannedDay:
    done = (
        None if state in ("missed", "planned", "excused") else ago(days_ago if performed_ago is None else performed_ago)
    )
    return PlannedDay(local_date=ago(days_ago), window_start=ago(days_ago), performed_on=done, state=state)


def flag(severity: str, opened_ago: int, closed_ago: int | None = None, scope: str = "all") -> FlagSpan:
    standing = StandingFlag(kind="pain", severity=severity, action="stop_movement", scope=scope)
    closed_on = None if closed_ago is None else ago(closed_ago)
    return FlagSpan(flag=standing, opened_on=ago(opened_ago), closed_on=closed_on)


TRAINED = {"planned": [planned(2)], "session_days": frozenset({ago(2)})}


def test_a_session_done_and_no_flag_is_nothing_noted():
    found = readiness_on(ReadinessHistory(**TRAINED), DAY)
    assert (found.verdict, found.reason) == ("nothing_noted", None)
    assert "clears nobody" in found.sentence


def test_a_planned_session_without_a_log_since_is_unknown():
    found = readiness_on(ReadinessHistory(planned=[planned(2), planned(1, "missed")], session_days={ago(2)}), DAY)
    assert (found.verdict, found.reason) == ("unknown", "silent")


def test_a_check_in_since_the_missed_session_breaks_the_silence():
    history = ReadinessHistory(planned=[planned(2, "missed")], check_in_days=frozenset({ago(1)}))
    assert readiness_on(history, DAY).verdict == "nothing_noted"


def test_what_was_logged_later_says_nothing_of_a_day_before():
    history = ReadinessHistory(planned=[planned(2, "missed")], check_in_days=frozenset({ago(-1)}))
    assert readiness_on(history, DAY).reason == "silent"


def test_a_session_done_days_after_its_own_was_due_and_undone_until_then():
    history = ReadinessHistory(planned=[planned(3, "done_late", performed_ago=1)], session_days=frozenset({ago(1)}))
    assert readiness_on(history, ago(2)).reason == "silent"
    assert readiness_on(history, ago(1)).verdict == "nothing_noted"


def test_a_session_of_the_day_itself_is_not_overdue_yet():
    history = ReadinessHistory(planned=[planned(2), planned(0, "missed")], session_days=frozenset({ago(2)}))
    assert readiness_on(history, DAY).verdict == "nothing_noted"
    assert readiness_on(history, ago(-1)).reason == "silent"


def test_excused_sessions_are_expected_of_nobody():
    history = ReadinessHistory(planned=[planned(4), planned(1, "excused")], session_days=frozenset({ago(4)}))
    assert readiness_on(history, DAY).verdict == "nothing_noted"


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ({}, "nothing_planned"),
        ({"planned": [planned(-7, "planned")]}, "nothing_due_yet"),
        ({"away": [DateSpan(ago(3), ago(-3))]}, "away"),
        ({"coached": False}, "not_coached"),
    ],
)
def test_where_nothing_was_due_the_reason_is_told(more, reason):
    found = readiness_on(ReadinessHistory(session_days=frozenset({ago(1)}), **more), DAY)
    assert (found.verdict, found.reason) == ("unknown", reason)


@pytest.mark.parametrize(("day_ago", "verdict"), [(4, "nothing_noted"), (3, "stop"), (2, "stop"), (1, "nothing_noted")])
def test_a_flag_counts_from_the_day_it_opened_to_the_one_before_it_closed(day_ago, verdict):
    history = ReadinessHistory(
        planned=[planned(5)], session_days=frozenset({ago(5)}), flags=[flag("stop", 3, 1, "region:knee:left")]
    )
    found = readiness_on(history, ago(day_ago))
    assert found.verdict == verdict
    assert found.scopes == (("region:knee:left",) if verdict == "stop" else ())


def test_stop_comes_before_watch_and_a_note_makes_no_verdict():
    assert readiness_on(ReadinessHistory(**TRAINED, flags=[flag("watch", 1), flag("stop", 1)]), DAY).verdict == "stop"
    assert readiness_on(ReadinessHistory(**TRAINED, flags=[flag("note", 1)]), DAY).verdict == "nothing_noted"


def test_what_was_not_logged_in_the_seven_days_before_is_not_measured():
    history = ReadinessHistory(
        **TRAINED, rated_days=frozenset({ago(2)}), wellness_days=frozenset({ago(7)}), hrv_days=frozenset({ago(6)})
    )
    assert readiness_on(history, DAY).not_measured == ("wellness", "resting_heart_rate")
