"""A client's usual pace, from sessions done."""

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from logs.analysis.facts import SessionFact
from logs.analysis.session_pace import PlannedPerformance, session_pace

MONDAY = date(2031, 3, 10)


def log(day: date = MONDAY, minutes: Any = 50, **more: Any) -> SessionFact:
    duration = None if minutes is None else Decimal(minutes)
    return SessionFact(session_id="s", local_date=day, duration_min=duration, planned_high_min=Decimal(48), **more)


def done(number: int, *minutes: Any, **more: Any) -> PlannedPerformance:
    """A session planned at 42 to 48 minutes, the `number`th day."""
    day = MONDAY + timedelta(days=number)
    return PlannedPerformance(
        planned_session_id=f"{number:03}",
        local_date=day,
        planned_low_min=more.pop("low", Decimal(42)),
        planned_high_min=Decimal(48),
        logs=tuple(log(day, one, **more) for one in minutes),
    )


def times(minutes: Iterable[Any]) -> list[PlannedPerformance]:
    return [done(number, each) for number, each in enumerate(minutes)]


def test_six_sessions_give_the_median_and_the_last_day_among_them() -> None:
    pace = session_pace(times([45, 90, 54, 63, 54, 36]))
    assert (pace.ratio, pace.sessions, pace.last_on) == (Decimal("1.200000"), 6, MONDAY + timedelta(days=5))


def test_between_two_middle_sessions_lies_their_mean() -> None:
    # 50 / 45 and 55 / 45 in the middle.
    assert session_pace(times([20, 30, 50, 55, 60, 70])).ratio == Decimal("1.166667")


def test_five_sessions_give_no_pace_but_are_counted() -> None:
    pace = session_pace(times([50] * 5))
    assert (pace.ratio, pace.sessions, pace.last_on) == (None, 5, MONDAY + timedelta(days=4))


def test_unknown_minutes_are_left_out_and_nothing_is_known_of_nobody() -> None:
    # Nothing said, over twice the planned time, over three hours: all unknown until somebody confirms.
    pace = session_pace(times([50] * 5 + [None, 97, 200]))
    assert (pace.ratio, pace.sessions) == (None, 5)
    assert session_pace([]).sessions == 0
    assert session_pace([done(0)]).sessions == 0


def test_confirmed_minutes_count_however_long() -> None:
    confirmed = done(9, 90 + 45, minutes_confirmed=True)
    assert session_pace([*times([45] * 5), confirmed]).sessions == 6


def test_the_logs_of_one_planned_session_are_added_up_and_one_unknown_leaves_it_out() -> None:
    assert session_pace([done(number, 20, 34) for number in range(6)]).ratio == Decimal("1.200000")
    assert session_pace([done(number, 20, None) for number in range(6)]).sessions == 0


def test_only_the_last_twenty_count() -> None:
    pace = session_pace(times([90] * 30 + [45] * 20))
    assert (pace.ratio, pace.sessions) == (Decimal(1), 20)


def test_a_session_planned_to_take_no_time_says_nothing() -> None:
    nothing = PlannedPerformance(
        planned_session_id="0",
        local_date=MONDAY,
        planned_low_min=Decimal(0),
        planned_high_min=Decimal(0),
        logs=(log(),),
    )
    assert session_pace([nothing]).sessions == 0


@settings(max_examples=60)
@given(st.lists(st.integers(1, 90), min_size=6, max_size=20), st.randoms(use_true_random=False))
def test_the_order_of_sessions_decides_nothing_and_half_lie_on_either_side(minutes: list[int], dice: Any) -> None:
    sessions = times(minutes)
    pace = session_pace(sessions)
    dice.shuffle(sessions)
    assert session_pace(sessions) == pace
    assert pace.ratio is not None
    slack = Decimal("0.000001")
    over = sum(Decimal(each) / 45 >= pace.ratio - slack for each in minutes)
    under = sum(Decimal(each) / 45 <= pace.ratio + slack for each in minutes)
    assert min(over, under) * 2 >= len(minutes)
