"""What advice must never say to somebody in pain, back from a gap, in a deload, or under care."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from logs.analysis.load_advice import load_advice
from logs.analysis.load_advice_facts import AdvisedSlot, LoadGrid
from logs.analysis.load_advice_results import LoadAdvice
from logs.analysis.load_advice_returns import return_rule
from programs.prescription.loads import SUGGESTED_TEST
from tests.logs.analysis.load_advice_slots import DAY, DIP, NO_INCREASE, done, slot, target

PERCENT: dict[str, Any] = {"kind": "percent", "written": "75% TM", "from_what": "75 % of a training maximum."}
BY_EFFORT: dict[str, Any] = {"kind": "by_effort", "written": "", "resolved": None}
FEVER = (DAY - timedelta(days=2),)


def advised(own: AdvisedSlot, *also: int, fever: Any = ()) -> LoadAdvice:
    """Advise, on the days of the exposures and some others as the days of training."""
    days = [one.local_date for one in own.exposures] + [DAY - timedelta(days=number) for number in also]
    return load_advice(own, return_rule(days, DAY, fever_on=fever))


def test_on_the_way_back_a_percentage_is_not_lifted_in_full_at_the_second_session() -> None:
    asked = target(**PERCENT)
    found = advised(slot(done(2, 8, 8, 8, load=60, asked=asked), done(62, 8, 8, 8, asked=asked), target=asked))
    # 26 of 28 days are left: 18.6 % off 80 kg is 65.1 kg.
    assert (found.action, found.reason, found.load) == ("down", "back_after_gap", 65)
    assert "2031-03-22" in found.sentence


def test_on_the_way_back_what_was_not_done_yet_is_cut_too() -> None:
    other = target(reps_low=3, reps_high=4)
    found = advised(slot(done(62, 4, 4, 4, load=100, asked=other)), 2)
    assert (found.reason, found.load) == ("back_after_gap", 65)
    assert advised(slot(), 62, 2).load == 65


def test_on_the_way_back_an_estimate_from_before_the_gap_is_cut_too() -> None:
    other = target(reps_low=4, reps_high=4, **BY_EFFORT)
    asked = target(**BY_EFFORT)
    found = advised(slot(done(62, 4, 4, 4, load=100, asked=other), target=asked), 2)
    # Epley: 100 x (1 + 6/30) = 120; for 7 with 2 in reserve 92.3, so 90, and 18.6 % less is 73.3.
    assert (found.reason, found.load) == ("back_after_gap", Decimal("72.5"))


def test_pain_and_a_new_start_never_give_the_old_load() -> None:
    found = advised(slot(done(100, 8, 8, 8), holds=(NO_INCREASE,)))
    assert (found.reason, found.load) == ("start_as_new", None)
    assert NO_INCREASE.detail in found.sentence
    fever = advised(slot(done(6, 8, 8, 8), holds=(NO_INCREASE,)), fever=FEVER)
    assert (fever.reason, fever.load) == ("start_as_new", None)
    left_out = advised(slot(done(90, 8, 8, 8), holds=(NO_INCREASE,)), 3, 10, 20, 30, 40, 50, 60, 70, 80)
    assert (left_out.reason, left_out.load) == ("not_lifted_lately", None)


def test_pain_never_gives_a_load_that_was_lifted_for_fewer_repetitions() -> None:
    heavy = target(reps_low=2, reps_high=2, reserve=None, **BY_EFFORT)
    asked = target(reps_low=12, reps_high=12, reserve=None, **BY_EFFORT)
    found = advised(slot(done(3, 2, 2, load=140, reserve=None, asked=heavy), target=asked, holds=(NO_INCREASE,)))
    assert found.load is None
    assert NO_INCREASE.detail in found.sentence


def test_pain_asks_for_no_more_repetitions_either() -> None:
    for own in (
        slot(done(3, 7, 7, 7)),
        slot(done(3, 8, 8, 8)),
        slot(done(3, 8, 8, 8, load=20), done(5, 8, 8, 8, load=20)),
    ):
        found = advised(replace(own, holds=(NO_INCREASE,)))
        assert (found.action, found.reason) == ("hold", "held_for_pain")
        assert "epetitions first" not in found.sentence
        assert "add repetitions" not in found.sentence
        assert "goes up" not in found.sentence


def test_a_deload_hides_no_gap_and_no_new_start() -> None:
    light = target(resolved=Decimal(70), written="70")
    assert advised(slot(done(100, 8, 8, 8), target=light, deload=True)).reason == "start_as_new"
    found = advised(slot(done(40, 8, 8, 8), target=light, deload=True))
    assert (found.reason, found.load) == ("after_gap", Decimal("62.5"))
    assert advised(slot(done(40, 8, 8, 8, load=120), target=light, deload=True)).load == 70
    assert advised(slot(done(3, 8, 8, 8), target=light, deload=True)).reason == "deload"


def test_a_carry_is_cut_after_a_gap_and_started_anew_after_a_long_one() -> None:
    carry = target(reps_low=None, reps_high=None, resolved=Decimal(40), written="40")
    assert advised(slot(target=carry), 3).reason == "not_by_load"
    found = advised(slot(target=carry), 40)
    assert (found.reason, found.load) == ("after_gap", 30)
    assert advised(slot(target=carry), 100).reason == "start_as_new"


def test_what_does_not_go_by_load_says_its_hold_and_its_gap() -> None:
    plank = target(reps_low=None, reps_high=None, resolved=None)
    held = advised(slot(target=plank, holds=(NO_INCREASE,)), 3)
    assert held.action == "hold"
    assert NO_INCREASE.detail in held.sentence
    assert "half the sets" in advised(slot(target=plank), 40).sentence
    assert NO_INCREASE.detail in advised(slot(target=None, holds=(NO_INCREASE,)), 3).sentence


def test_sets_come_back_with_the_loads_not_at_once() -> None:
    days = [DAY - timedelta(days=number) for number in (62, 14, 1)]
    found = return_rule(days, DAY)
    assert (found.kind, found.sets_share, found.rpe_most) == ("way_back", Fraction(3, 4), 8)
    assert found.sets_left(4) == 3
    assert found.sentence == (
        "On the way back since 2031-03-10, after 48 days off: loads 10 % under those before, 75 % of the sets, "
        "RPE to 8."
    )
    over = return_rule([DAY - timedelta(days=number) for number in (90, 28, 20, 10, 1)], DAY)
    assert (over.sets_share, over.rpe_most, over.sentence) == (1, None, "")


def test_a_lift_in_two_slots_goes_by_what_was_done_in_its_own() -> None:
    top = replace(done(3, 8, 8, 8, load=100), slot_key="A1")
    light = replace(done(3, 8, 8, 8, load=60), slot_key="C1", session=top.session)
    found = advised(slot(top, light))
    assert (found.reason, found.load) == ("not_often_enough", 100)


def test_the_same_repetitions_at_another_effort_are_another_load() -> None:
    hard = target(reps_low=5, reps_high=5, reserve=Decimal(1), **BY_EFFORT)
    easy = target(reps_low=5, reps_high=5, reserve=Decimal(4), **BY_EFFORT)
    exposures = [done(2, 5, 5, 5, load=100, reserve=4, asked=easy), done(5, 5, 5, 5, load=120, reserve=1, asked=hard)]
    assert advised(slot(*exposures, target=hard)).load == 120
    assert advised(slot(*exposures, target=easy)).load == 100


def test_a_percentage_is_said_to_be_wrong_where_much_more_or_less_is_lifted() -> None:
    asked = target(**PERCENT, reserve=None)
    more = [done(days, 6, 6, 6, load=100, reserve=2, asked=asked) for days in (3, 7)]
    found = advised(slot(*more, target=asked))
    assert (found.reason, found.load) == ("percent_too_light", 80)
    assert "where 80 kg was prescribed" in found.sentence
    less = [done(days, 6, 6, 6, load=70, reserve=2, asked=asked) for days in (3, 7)]
    assert advised(slot(*less, target=asked)).reason == "percent_too_heavy"


def test_nobody_under_care_is_told_to_test() -> None:
    asked = target(**PERCENT, reserve=Decimal(2))
    light = [done(days, 6, 6, 6, reserve=4, asked=asked) for days in (3, 7)]
    why = "No maximum test is suggested to somebody under 18."
    found = advised(slot(*light, target=asked, no_test=why))
    assert found.reason == "percent_too_light"
    assert found.suggestion == f"Set a higher training maximum, or prescribe by effort. {why}"
    none = target(**(PERCENT | {"from_what": "Not known.", "resolved": None}), suggestion=SUGGESTED_TEST)
    unknown = advised(slot(target=none, no_test=why))
    assert (unknown.reason, unknown.suggestion) == ("needs_reference", f"Prescribe by effort (RPE). {why}")


def test_nobody_whose_weight_care_hides_is_told_to_weigh_in() -> None:
    asked = target(kind="bodyweight", resolved=Decimal(0), written="bodyweight")
    exposures = [done(days, 8, 8, 8, load=5, asked=asked) for days in (3, 7)]
    found = advised(slot(*exposures, exercise=DIP, target=asked, grid=LoadGrid(base=None, base_hidden=True)))
    assert (found.reason, found.missing) == ("bodyweight_unknown", ())
    assert "weigh-in" not in found.sentence
    assert "log" not in found.sentence


def test_a_sentence_says_the_share_that_was_really_taken_off() -> None:
    found = advised(slot(done(3, 4, 4, 4)))
    assert found.sentence.startswith("Down to 75 kg, 6.2 % less: ")


def test_less_help_is_said_as_less_help() -> None:
    asked = target(**BY_EFFORT)
    exposures = [done(days, 8, 8, 8, load=-20, asked=asked) for days in (3, 7)]
    found = advised(slot(*exposures, exercise=DIP, target=asked, grid=LoadGrid(base=Decimal(80))))
    assert (found.action, found.load) == ("up", Decimal("-17.5"))
    assert found.sentence.startswith("On to 17.5 kg of help, 4.2 % more to move: ")
    missed = advised(
        slot(done(3, 4, 4, 4, load=-20, asked=asked), exercise=DIP, target=asked, grid=LoadGrid(base=Decimal(80)))
    )
    assert missed.sentence.startswith("Back to 25 kg of help, ")


def test_bodyweight_alone_after_a_gap_is_not_said_to_be_less() -> None:
    asked = target(kind="bodyweight", resolved=Decimal(0), written="bodyweight")
    own = slot(done(20, 8, 8, 8, load=0, asked=asked), exercise=DIP, target=asked, grid=LoadGrid(base=Decimal(80)))
    found = advised(own)
    assert (found.action, found.load) == ("same", 0)
    assert found.sentence.startswith("Nothing lighter can be loaded than bodyweight: choose an easier variant. ")


def test_lighter_sets_are_said_to_be_lighter() -> None:
    lighter = done(3, 8, 8, 8)
    dropped = replace(lighter, sets=(*lighter.sets[:2], replace(lighter.sets[2], load=Decimal(70))))
    assert "2 of 3 sets were done in full at that load" in advised(slot(dropped)).sentence


def test_the_last_load_is_one_that_was_lifted() -> None:
    asked = target(**PERCENT)
    found = advised(slot(target=asked), 20)
    assert (found.load, found.last) == (70, None)
    assert "80 kg is prescribed" in found.sentence


def test_an_effort_not_asked_for_a_month_goes_by_what_was_lifted_since() -> None:
    hard = target(reps_low=5, reps_high=5, reserve=Decimal(1), **BY_EFFORT)
    asked = target(reps_low=5, reps_high=5, reserve=Decimal(2), **BY_EFFORT)
    old = done(35, 5, 5, 5, load=80, asked=asked)
    lately = [done(days, 5, 5, 5, load=110, reserve=1, asked=hard) for days in (4, 11, 18, 25)]
    found = advised(slot(old, *lately, target=asked))
    # Epley: 110 x (1 + 6/30) = 132; for 5 with 2 in reserve 132 / (1 + 7/30) = 107.0.
    assert (found.reason, found.load) == ("from_estimate", 105)
    assert advised(slot(old, target=asked), 4, 11, 18, 25).reason == "not_lifted_lately"
