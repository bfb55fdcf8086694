from datetime import date, timedelta
from decimal import Decimal

import pytest

from logs.analysis.load_jumps import LoadJumpPolicy, WeekLoad, load_jump_state

MONDAY = date(2031, 3, 3)


def weeks(*loads, **last):
    facts = [
        WeekLoad(week_start=MONDAY + timedelta(weeks=index), session_load=Decimal(load))
        for index, load in enumerate(loads)
    ]
    if last:
        end = facts[-1]
        facts[-1] = WeekLoad(week_start=end.week_start, session_load=end.session_load, **last)
    return facts


def changed(facts, index, **changes):
    one = facts[index]
    facts[index] = WeekLoad(week_start=one.week_start, session_load=one.session_load, **changes)
    return facts


@pytest.mark.parametrize(
    ("loads", "holds"),
    [
        # Steady weeks: 30 % above the median of 1000 is the bound.
        ((1000, 1000, 1000, 1000, 1000, 1000, 1300), False),
        ((1000, 1000, 1000, 1000, 1000, 1000, 1301), True),
        # Uneven weeks: median 1000, MAD 150, so 1000 + 3 x 1.4826 x 150 = 1667.17.
        ((800, 850, 1000, 1000, 1150, 1200, 1667), False),
        ((800, 850, 1000, 1000, 1150, 1200, 1668), True),
        # Only the last six count.
        ((3000, 3000, 1000, 1000, 1000, 1000, 1000, 1000, 1301), True),
        ((1000, 1000, 1000, 1000, 400), False),
    ],
)
def test_a_week_far_above_the_persons_own_weeks_is_a_jump(loads, holds):
    assert load_jump_state(weeks(*loads)).holds is holds
    assert load_jump_state(weeks(*loads)[::-1]).holds is holds


def test_four_complete_weeks_are_needed():
    assert "3 complete weeks" in load_jump_state(weeks(1000, 1000, 1000, 3000)).sentence
    assert load_jump_state(weeks(1000, 1000, 1000, 1000, 3000)).holds


@pytest.mark.parametrize("gap", [{"deload": True}, {"absent": True}, {"days_unknown": 1}])
def test_weeks_that_are_not_complete_are_no_part_of_the_comparison(gap):
    facts = changed(weeks(1000, 1000, 1000, 1000, 2000), 0, **gap)
    assert not load_jump_state(facts).holds
    assert load_jump_state(changed(weeks(100, 1000, 1000, 1000, 1000, 2000), 0, **gap)).figures["weeks"] == 4


@pytest.mark.parametrize("last", [{"deload": True}, {"absent": True}, {"planned_build": True}])
def test_a_planned_or_unlike_week_is_not_judged(last):
    assert not load_jump_state(weeks(1000, 1000, 1000, 1000, 3000, **last)).holds


def test_a_week_that_is_not_over_is_not_judged():
    assert not load_jump_state(weeks(1000, 1000, 1000, 1000, 3000, over=False)).holds


def test_a_week_with_unknown_days_can_still_show_a_jump_as_a_lower_bound():
    state = load_jump_state(weeks(1000, 1000, 1000, 1000, 2000, days_unknown=2))
    assert state.holds
    assert "at least 2000" in state.sentence


def test_weeks_from_long_ago_are_not_compared():
    facts = weeks(*[1000] * 4)
    later = WeekLoad(week_start=MONDAY + timedelta(weeks=13), session_load=Decimal(3000))
    assert not load_jump_state([*facts, later]).holds


def test_weeks_without_any_load_are_nothing_to_compare_with():
    assert "hold no load" in load_jump_state(weeks(0, 0, 0, 0, 500)).sentence
    assert not load_jump_state([]).holds


def test_a_jump_holds_increases_and_predicts_nothing():
    state = load_jump_state(weeks(1000, 1000, 1000, 1000, 2000))
    assert (state.action, state.severity, state.scope) == ("no_increase", "watch", "all")
    assert "predicts no injury" in state.caution
    assert "+100 %" in state.sentence
    assert state.evidence == ("week:2031-03-31",)


def test_a_business_may_set_its_own_rise():
    policy = LoadJumpPolicy(least_rise_ratio=Decimal("0.10"))
    assert load_jump_state(weeks(1000, 1000, 1000, 1000, 1150), policy).holds
