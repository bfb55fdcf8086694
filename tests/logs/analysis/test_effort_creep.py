"""The same work at more effort than lately."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.effort_creep import EffortCreepPolicy, EffortExposure, effort_creep_states

TODAY = date(2031, 3, 5)


def exposures(*efforts: float, exercise: str = "back-squat", last_ago: int = 0, **more: Any) -> list[EffortExposure]:
    """Sessions a week apart, the last `last_ago` days before today, of five repetitions with 100 kg."""
    last = TODAY - timedelta(days=last_ago)
    found = []
    for index, rpe in enumerate(efforts):
        day = last - timedelta(weeks=len(efforts) - 1 - index)
        fields = {"line": "both/standard/total", "load_kg": Decimal(100), "reps": 5, **more}
        found.append(
            EffortExposure(
                session=f"{exercise}-{day}", local_date=day, exercise=exercise, rpe=Decimal(str(rpe)), **fields
            )
        )
    return found


@pytest.mark.parametrize(
    ("efforts", "holds"),
    [
        ((7, 7, 7, 7, 8, 8), True),
        ((7, 7, 7, 7, 8.5, 8), True),
        ((7, 7, 7, 7, 7.5, 8), False),
        ((7, 7, 7, 7, 8, 7), False),
        ((7, 7, 7, 7, 8), False),
        # Three earlier times are too few to compare the first rise with.
        ((7, 7, 7, 8, 8), False),
        ((7, 7, 7, 7, 6, 6), False),
    ],
)
def test_a_lift_creeps_when_two_sessions_running_cost_a_point_more(efforts: tuple[float, ...], holds: bool):
    states = effort_creep_states(exposures(*efforts), TODAY)
    assert bool(states) is holds
    for state in states:
        assert (state.scope, state.severity, state.action) == ("exercise:back-squat", "watch", "no_increase")
        assert "no diagnosis" in state.caution


def test_three_lifts_within_a_week_are_enough_if_no_one_day_made_them():
    squat = exposures(7, 7, 7, 7, 8, last_ago=1)
    bench, row, early_row = (
        exposures(7, 7, 7, 7, 8, exercise=lift, last_ago=days)
        for lift, days in (("bench-press", 3), ("row", 5), ("row", 8))
    )
    states = effort_creep_states([*squat, *bench, *row], TODAY)
    assert [state.scope for state in states] == ["exercise:back-squat", "exercise:bench-press", "exercise:row"]
    assert not effort_creep_states([*squat, *bench], TODAY)
    assert not effort_creep_states([*squat, *bench, *early_row], TODAY)
    one_day = [
        one
        for lift in ("back-squat", "bench-press", "row")
        for one in exposures(7, 7, 7, 7, 8, exercise=lift, last_ago=1)
    ]
    assert not effort_creep_states(one_day, TODAY)


@pytest.mark.parametrize(
    "last",
    [{"load_kg": Decimal("102.5")}, {"reps": 6}, {"line": "both/slow/total"}],
    ids=["heavier", "more repetitions", "another tempo class"],
)
def test_unlike_work_is_not_compared(last: dict[str, Any]):
    before, after = exposures(7, 7, 7, 7, last_ago=14), exposures(8, 8, **last)
    assert not effort_creep_states([*before, *after], TODAY)


def test_loads_within_two_per_cent_are_one_load():
    before, after = exposures(7, 7, 7, 7, last_ago=14), exposures(8, 8, load_kg=Decimal(98))
    assert effort_creep_states([*before, *after], TODAY)


def test_a_rise_that_the_plan_asked_for_is_none():
    before = exposures(7, 7, 7, 7, last_ago=14, planned_rpe=Decimal(7))
    asked = exposures(8, 8, planned_rpe=Decimal(8))
    assert not effort_creep_states([*before, *asked], TODAY)
    assert effort_creep_states([*before, *exposures(8, 8, planned_rpe=Decimal(7))], TODAY)


def test_planned_builds_deloads_and_absent_days_are_left_out():
    own = exposures(7, 7, 7, 7, 8, 8)
    week = TODAY - timedelta(days=TODAY.weekday())
    assert not effort_creep_states(own, TODAY, built_weeks=[week])
    assert not effort_creep_states(own, TODAY, [DateSpan(week, TODAY)])
    deload = exposures(8, deload=True)
    assert not effort_creep_states([*own[:-1], *deload], TODAY)


def test_the_fortnight_after_a_gap_is_not_compared():
    before = exposures(7, 7, 7, 7, last_ago=28)
    back = exposures(8, 8)
    assert (back[0].local_date - before[-1].local_date).days == 21
    assert not effort_creep_states([*before, *back], TODAY)
    # Two weeks on, the next two sessions are compared again.
    later = exposures(8, 8, 8, 8, last_ago=0)
    assert effort_creep_states([*exposures(7, 7, 7, 7, last_ago=42), *later], TODAY)


def test_a_rise_of_long_ago_says_nothing_of_today():
    assert not effort_creep_states(exposures(7, 7, 7, 7, 8, 8, last_ago=15), TODAY)


def test_each_new_rise_is_new_evidence():
    (early,) = effort_creep_states(exposures(7, 7, 7, 7, 8, 8.5, last_ago=7), TODAY)
    (late,) = effort_creep_states(exposures(7, 7, 7, 7, 8, 8.5, 9), TODAY)
    assert set(late.evidence) - set(early.evidence)


def test_the_bounds_are_a_policy():
    policy = EffortCreepPolicy(rise_rpe=Decimal(2))
    assert not effort_creep_states(exposures(7, 7, 7, 7, 8, 8), TODAY, policy=policy)
