"""Lifts whose tempo was often not kept."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.tempo_faults import MeasuredSet, TempoFaultPolicy, tempo_faults_states

TODAY = date(2031, 3, 5)


def measured(*faulty_of_four: int, exercise: str = "back-squat", last_ago: int = 0) -> list[MeasuredSet]:
    """Sessions of four sets two days apart, so many of them with a fault."""
    found = []
    for index, faulty in enumerate(faulty_of_four):
        day = TODAY - timedelta(days=last_ago + 2 * (len(faulty_of_four) - 1 - index))
        found += [
            MeasuredSet(session=f"s-{day}", local_date=day, exercise=exercise, faulty=number < faulty)
            for number in range(4)
        ]
    return found


@pytest.mark.parametrize(
    ("faulty", "holds"),
    [((2, 2, 3), True), ((2, 2, 2), False), ((0, 0, 0), False), ((4, 4, 1, 1, 1), False), ((4, 4), False)],
)
def test_most_sets_of_the_last_three_measured_sessions_at_fault_raise_it(faulty: tuple[int, ...], holds: bool):
    states = tempo_faults_states(measured(*faulty), TODAY)
    assert [(state.kind, state.severity, state.action) for state in states] == [
        ("tempo_faults", "note", "note")
    ] * holds


def test_each_lift_is_judged_by_its_own_sets():
    kept = measured(0, 0, 0, exercise="deadlift")
    states = tempo_faults_states([*measured(4, 4, 3), *measured(4, 4, 4, exercise="bench-press"), *kept], TODAY)
    assert [state.scope for state in states] == ["exercise:back-squat", "exercise:bench-press"]
    assert states[0].figures == {"faulty_sets": 11, "sets": 12, "sessions": 3}
    assert "11 of 12 sets" in states[0].sentence


def test_absent_days_and_days_long_gone_do_not_count():
    own = measured(4, 4, 4)
    assert not tempo_faults_states(own, TODAY, [DateSpan(TODAY, None)])
    assert not tempo_faults_states(own, TODAY + timedelta(days=40))


def test_few_sets_are_not_judged():
    own = [one for index, one in enumerate(measured(4, 4, 4)) if index % 4 == 0]
    assert not tempo_faults_states(own, TODAY)


def test_the_bound_is_a_policy():
    assert tempo_faults_states(measured(1, 1, 1), TODAY, policy=TempoFaultPolicy(faulty_ratio=Decimal(0)))
