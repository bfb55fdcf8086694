from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from logs.analysis.load_advice import load_advice
from logs.analysis.load_advice_basis import advice_basis, changed_since
from logs.analysis.load_advice_facts import AdvisedSlot, LoadGrid, PerformedSet, SlotHold
from logs.analysis.load_advice_results import LoadAdvice
from logs.analysis.load_advice_returns import ReturnRule
from logs.analysis.load_advice_steps import change_between
from tests.logs.analysis.load_advice_slots import BELL, DAY, DIP, NO_INCREASE, SQUAT, STACK, done, slot, target


def advised(one: AdvisedSlot) -> LoadAdvice:
    return load_advice(one, ReturnRule())


def told(one: AdvisedSlot) -> tuple[str, str, Any]:
    advice = advised(one)
    return advice.action, advice.reason, advice.load


def test_the_top_twice_running_at_one_load_is_a_step_and_the_top_at_a_lighter_one_before_is_not() -> None:
    assert told(slot(done(3, 8, 8, 8), done(7, 8, 8, 8))) == ("up", "top_of_range", Decimal("82.5"))
    assert told(slot(done(3, 8, 8, 8), done(7, 8, 8, 8, load=75))) == ("same", "not_often_enough", 80)
    assert told(slot(done(3, 8, 8, 8), done(7, 8, 8, 8, load=85))) == ("up", "top_of_range", Decimal("82.5"))


def test_a_session_below_the_top_between_breaks_the_run() -> None:
    assert told(slot(done(3, 8, 8, 8), done(5, 8, 8, 7), done(7, 8, 8, 8))) == ("same", "not_often_enough", 80)


def test_a_step_is_at_least_one_percent() -> None:
    asked = target(resolved=Decimal(300), written="300")
    found = advised(slot(*(done(days, 8, 8, 8, load=300, asked=asked) for days in (3, 7)), target=asked))
    assert found.load == 305


def test_a_missing_or_lighter_set_is_no_top_and_no_miss() -> None:
    assert told(slot(done(3, 8, 8)))[1] == "incomplete"
    lighter = done(3, 8, 8, 8)
    dropped = replace(lighter, sets=(*lighter.sets[:2], replace(lighter.sets[2], load=Decimal(70))))
    assert told(slot(dropped)) == ("same", "incomplete", 80)


def test_a_failed_set_is_a_miss_whatever_its_repetitions() -> None:
    assert told(slot(done(3, 8, 8, 8, outcome="failed", reserve=0)))[1] == "one_miss"


def test_two_misses_at_unlike_loads_are_not_running() -> None:
    assert told(slot(done(3, 6, 6, 5, load=75), done(7, 6, 6, 5, load=80))) == ("same", "one_miss", 75)
    assert told(slot(done(3, 6, 6, 5, load=80), done(7, 6, 6, 5, load=75))) == ("down", "misses_running", 75)


def test_down_from_the_empty_bar_there_is_nothing() -> None:
    found = advised(slot(done(3, 4, 4, 4, load=20)))
    assert (found.action, found.reason, found.load) == ("hold", "nothing_lighter", 20)
    assert "easier variant" in found.sentence


def test_to_the_limit_two_over_the_number_is_the_top() -> None:
    asked = target(to_limit=True, reps_low=5, reps_high=5, reserve=None, sets=1, set_numbers=frozenset({1}))
    over = [done(days, 7, reserve=None, asked=asked) for days in (3, 7)]
    assert told(slot(*over, target=asked))[:2] == ("up", "top_of_range")
    assert told(slot(done(3, 6, reserve=None, asked=asked), target=asked))[1] == "in_range"


def test_one_sided_lifts_go_by_the_weaker_side() -> None:
    both = done(3, 8, 8, 8)
    sides = tuple(replace(one, side=side, reps=reps) for one in both.sets for side, reps in (("left", 8), ("right", 7)))
    found = advised(slot(replace(both, sets=sides)))
    assert (found.reason, found.inputs[0].reps) == ("in_range", (7, 7, 7))


def test_a_lift_of_one_side_only_is_incomplete() -> None:
    both = done(3, 8, 8, 8)
    assert told(slot(replace(both, sets=tuple(replace(one, side="left") for one in both.sets))))[1] == "incomplete"


def test_an_app_that_counts_no_warm_ups_is_understood_and_one_that_does_is_too() -> None:
    asked = target(set_numbers=frozenset({3, 4, 5}))
    assert told(slot(done(3, 8, 8, 8, asked=asked), target=asked))[1] == "not_often_enough"
    light = tuple(PerformedSet(set_number=number, reps=5, load=Decimal(40)) for number in (1, 2))
    work = tuple(PerformedSet(set_number=number, reps=8, load=Decimal(80), reserve=Decimal(2)) for number in (3, 4, 5))
    logged = replace(done(3, asked=asked), sets=light + work)
    assert told(slot(logged, target=asked))[1] == "not_often_enough"


def test_a_stack_is_compared_only_with_the_machine_used_last_at_the_same_place() -> None:
    asked = target(resolved=None, kind="by_effort", written="")
    exposures = [
        done(3, 8, 8, 8, load=50, machine="B", asked=asked),
        done(5, 8, 8, 8, load=80, machine="A", asked=asked),
        done(7, 8, 8, 8, load=50, machine="B", asked=asked),
    ]
    own = slot(*exposures, exercise=STACK, target=asked)
    assert told(own) == ("up", "top_of_range", 55)
    assert told(replace(own, place="hotel"))[1] == "nothing_comparable"


def test_another_tempo_class_and_a_deload_are_not_compared() -> None:
    assert told(slot(done(3, 8, 8, 8, tempo_class="slow")))[1] == "nothing_comparable"
    assert told(slot(done(3, 8, 8, 8, deload=True)))[1] == "nothing_comparable"


def test_an_added_load_goes_by_the_whole_weight_moved() -> None:
    asked = target(kind="bodyweight", resolved=Decimal(0), written="bodyweight")
    exposures = [done(days, 8, 8, 8, load=0, asked=asked) for days in (3, 7)]
    own = slot(*exposures, exercise=DIP, target=asked, grid=LoadGrid(base=Decimal(80)))
    found = advised(own)
    assert (found.action, found.load) == ("up", Decimal("2.5"))
    assert found.sentence.startswith("Up to bodyweight + 2.5 kg, 3.1 % more: ")
    unknown = advised(replace(own, grid=LoadGrid(base=None)))
    assert (unknown.action, unknown.missing) == ("ask", ("bodyweight",))


def test_a_load_elsewhere_is_rounded_down_to_what_is_there() -> None:
    own = slot(done(3, 7, 7, 7, load=81), grid=LoadGrid(step=Decimal(5)), place="hotel")
    assert advised(own).load == 80
    assert advised(replace(own, place="")).load == 81


def test_the_program_steps_a_load_itself_but_no_more_than_a_tenth() -> None:
    stepped = target(written="85", resolved=Decimal(85))
    assert told(slot(done(3, 7, 7, 7), target=stepped)) == ("up", "planned_step", 85)
    far = target(written="100", resolved=Decimal(100))
    assert told(slot(done(3, 7, 7, 7), target=far)) == ("up", "planned_step", Decimal("87.5"))
    assert told(slot(done(3, 7, 7, 5), target=stepped)) == ("same", "one_miss", 80)


def test_a_lift_left_out_while_training_went_on_is_held_and_after_twelve_weeks_started_anew() -> None:
    assert told(slot(done(30, 8, 8, 8), done(34, 8, 8, 8))) == ("hold", "not_lifted_lately", 80)
    assert told(slot(done(90, 8, 8, 8))) == ("start", "not_lifted_lately", None)


def test_nothing_goes_up_under_a_hold_and_what_goes_down_still_does() -> None:
    up = slot(done(3, 8, 8, 8), done(7, 8, 8, 8), holds=(NO_INCREASE,))
    assert told(up) == ("hold", "held_for_pain", 80)
    assert told(slot(done(3, 4, 4, 4), holds=(NO_INCREASE,))) == ("down", "two_short", 75)
    stepped = target(written="85", resolved=Decimal(85))
    assert told(slot(done(3, 7, 7, 7), target=stepped, holds=(NO_INCREASE,))) == ("hold", "held_for_pain", 80)


@pytest.mark.parametrize(
    ("code", "reason"), [("movement_held", "movement_stopped"), ("training_held", "training_stopped")]
)
def test_a_stop_advises_no_load(code: Any, reason: str) -> None:
    stop = SlotHold(code=code, detail="Stopped.")
    assert told(slot(done(3, 8, 8, 8), holds=(stop,))) == ("hold", reason, None)


def test_without_steps_a_slot_is_left_as_prescribed() -> None:
    band = replace(SQUAT, loading="band")
    assert told(slot(done(3, 8, 8, 8), exercise=band))[1] == "not_by_load"
    assert told(slot(target=None))[1] == "not_by_load"


def test_sets_without_a_load_ask_for_it() -> None:
    found = advised(slot(done(3, 8, 8, 8, load=None)))
    assert (found.action, found.reason, found.missing) == ("ask", "load_unknown", ("load",))


def test_a_big_step_over_what_estimates_reach_names_other_ways() -> None:
    asked = target(kind="by_effort", written="", resolved=None, reps_low=8, reps_high=10, reserve=Decimal(2))
    exposures = [done(days, 10, 10, 10, load=12, asked=asked) for days in (3, 7)]
    found = advised(slot(*exposures, exercise=BELL, target=asked))
    assert (found.action, found.reason, found.repetitions_first) == ("hold", "step_too_big", None)
    assert "smaller steps" in found.sentence


def test_the_basis_says_what_changed() -> None:
    own = slot(done(3, 8, 8, 8))
    before = advice_basis(own, ReturnRule())
    assert changed_since(before, advice_basis(own, ReturnRule())) == ()
    logged = replace(own, exposures=(*own.exposures, done(1, 8, 8, 8)))
    assert changed_since(before, advice_basis(logged, ReturnRule())) == ("its logs changed",)
    held = replace(own, holds=(NO_INCREASE,))
    assert changed_since(before, advice_basis(held, ReturnRule())) == ("what holds the client for pain changed",)
    assert len(changed_since("nonsense", before)) == 4
    assert changed_since(before, advice_basis(replace(own, day=DAY + timedelta(days=1)), ReturnRule())) == ()


def test_where_care_hides_bodyweight_no_percentage_of_it_is_told() -> None:
    asked = target(kind="bodyweight", resolved=Decimal(0), written="bodyweight")
    exposures = [done(days, 8, 8, 8, load=0, asked=asked) for days in (3, 7)]
    own = slot(*exposures, exercise=DIP, target=asked, grid=LoadGrid(base=Decimal(80), base_hidden=True))
    found = advised(own)
    assert (found.action, found.load) == ("up", Decimal("2.5"))
    assert found.sentence.startswith("Up to bodyweight + 2.5 kg: ")
    assert change_between(own, Decimal(10), Decimal("12.5")) == (Decimal("2.5"), None)
    big = [done(days, 8, 8, 8, load=0, asked=asked) for days in (3, 7)]
    light = slot(*big, exercise=DIP, target=asked, grid=LoadGrid(base=Decimal(20), base_hidden=True))
    assert "%" not in advised(light).sentence
