"""Sessions cut short, and sessions that take longer than planned."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.facts import SessionFact
from logs.analysis.session_lengths import (
    PerformedSession,
    SessionLengthPolicy,
    session_too_long_state,
    sessions_cut_short_state,
)

TODAY = date(2031, 3, 5)
FIRST = TODAY - timedelta(days=20)


def performed(states: str = "ddddd", minutes: tuple[int | None, ...] = ()) -> list[PerformedSession]:
    """Sessions two days apart, oldest first: `d` done, `p` in part; planned for up to 40 minutes."""
    found = []
    for index, letter in enumerate(states):
        day = FIRST + timedelta(days=2 * index)
        given = minutes[index] if minutes else 40
        length = None if given is None else Decimal(given)
        log = SessionFact(session_id=f"l-{index}", local_date=day, duration_min=length, planned_high_min=Decimal(40))
        found.append(
            PerformedSession(
                identity=f"s-{index}",
                local_date=day,
                state="done" if letter == "d" else "part_done",
                planned_high_min=Decimal(40),
                logs=(log,),
            )
        )
    return found


@pytest.mark.parametrize(
    ("states", "holds"),
    [("ppp", True), ("pdpdp", True), ("ddpp", False), ("pppddd", False), ("ppppddd", False), ("", False)],
)
def test_three_of_the_last_five_done_in_part_are_cut_short(states: str, holds: bool):
    state = sessions_cut_short_state(performed(states), TODAY)
    assert (state.kind, state.scope, state.holds) == ("sessions_cut_short", "all", holds)
    assert (state.severity, state.action) == ("watch", "note")


def test_it_says_how_many_and_when():
    state = sessions_cut_short_state(performed("pdpdp"), TODAY)
    assert state.figures == {
        "sessions": 5,
        "found": 3,
        "dates": [(FIRST + timedelta(days=days)).isoformat() for days in (0, 4, 8)],
    }
    assert state.sentence.startswith("3 of the last 5 performed sessions")
    assert "Ask before changing anything" in state.caution


def test_another_session_cut_short_is_new_evidence():
    before, after = (
        sessions_cut_short_state(performed("ppp"), TODAY),
        sessions_cut_short_state(performed("pppp"), TODAY),
    )
    assert set(after.evidence) - set(before.evidence)


@pytest.mark.parametrize(
    ("minutes", "holds"),
    [
        ((51, 51, 51), True),
        ((50, 50, 50), False),
        ((51, 40, 51, 40, 51), True),
        ((51, 51, 40, 40, 40), False),
        ((51, None, 51, None, None), False),
        # Over twice the planned time is not believed until somebody confirms it.
        ((81, 81, 81), False),
    ],
)
def test_three_of_the_last_five_over_a_quarter_longer_than_planned_are_too_long(
    minutes: tuple[int | None, ...], holds: bool
):
    state = session_too_long_state(performed("d" * len(minutes), minutes), TODAY)
    assert (state.kind, state.holds, state.severity, state.action) == ("session_too_long", holds, "note", "note")


def test_it_gives_the_minutes_beside_those_planned():
    state = session_too_long_state(performed("ddd", (51, 52, 53)), TODAY)
    assert state.figures["minutes"] == [
        f"{FIRST + timedelta(days=2 * index)}: {51 + index} of 40" for index in range(3)
    ]


@pytest.mark.parametrize("rule", [sessions_cut_short_state, session_too_long_state])
def test_absent_days_and_days_long_gone_do_not_count(rule):
    sessions = performed("ppppp", (55,) * 5)
    assert rule(sessions, TODAY).holds
    assert not rule(sessions, TODAY, [DateSpan(FIRST, FIRST + timedelta(days=5))]).holds
    assert not rule(sessions, TODAY + timedelta(days=42)).holds


def test_a_business_may_ask_for_more():
    policy = SessionLengthPolicy(raising_sessions=4, over_planned_ratio=Decimal("1.5"))
    sessions = performed("ppp", (55,) * 3)
    assert not sessions_cut_short_state(sessions, TODAY, policy=policy).holds
    assert not session_too_long_state(sessions, TODAY, policy=policy).holds
