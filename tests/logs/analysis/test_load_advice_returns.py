from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from logs.analysis.load_advice import load_advice
from logs.analysis.load_advice_returns import return_rule
from tests.logs.analysis.load_advice_slots import DAY, done, slot, target


def days_ago(*numbers: int) -> list[date]:
    return [DAY - timedelta(days=number) for number in numbers]


@pytest.mark.parametrize(
    ("gap_days", "kind", "cut", "rpe"),
    [
        (1, "none", Decimal(0), None),
        (13, "none", Decimal(0), None),
        (14, "short_gap", Decimal("0.10"), 7),
        (28, "short_gap", Decimal("0.10"), 7),
        (29, "long_gap", Decimal("0.20"), 6),
        (84, "long_gap", Decimal("0.20"), 6),
        (85, "start_as_new", None, 6),
    ],
)
def test_the_bounds_of_the_return_rule(gap_days: int, kind: str, cut: Decimal | None, rpe: int | None) -> None:
    found = return_rule(days_ago(gap_days), DAY)
    assert (found.kind, found.gap_days, found.load_cut, found.rpe_most) == (kind, gap_days, cut, rpe)


def test_nobody_who_never_trained_returns() -> None:
    assert return_rule([], DAY).gap_days is None


def test_sets_are_cut_to_the_nearest_number_but_never_to_none() -> None:
    short, long = return_rule(days_ago(20), DAY), return_rule(days_ago(40), DAY)
    assert [short.sets_left(sets) for sets in (1, 2, 3, 4, 5, 6)] == [1, 1, 2, 3, 3, 4]
    assert [long.sets_left(sets) for sets in (1, 2, 3, 4, 5)] == [1, 1, 1, 2, 2]


def test_a_fever_starts_anew_until_the_next_training() -> None:
    assert return_rule(days_ago(6), DAY, fever_on=days_ago(4)).kind == "start_as_new"
    after = return_rule(days_ago(6, 2), DAY, fever_on=days_ago(4))
    assert (after.kind, after.fresh_since) == ("none", DAY - timedelta(days=2))


def test_an_illness_of_which_no_fever_is_known_is_asked_about() -> None:
    found = return_rule(days_ago(16), DAY, ill_on=days_ago(10))
    assert found.kind == "short_gap"
    assert "fever" in found.cautions[0]


def test_the_way_back_takes_two_weeks_after_a_short_gap_and_four_after_a_long_one() -> None:
    short = return_rule(days_ago(27, 7), DAY).ramp
    assert short is not None
    assert (short.days, short.cut_left(DAY)) == (14, Fraction(1, 20))
    long = return_rule(days_ago(50, 14, 7), DAY).ramp
    assert long is not None
    assert (long.days, long.cut_left(DAY)) == (28, Fraction(1, 10))
    assert return_rule(days_ago(50, 28, 21, 14, 7), DAY).ramp is None


def test_a_lift_not_done_yet_since_a_gap_has_what_is_still_off_taken_from_it() -> None:
    returns = return_rule(days_ago(27, 7), DAY)
    advice = load_advice(slot(done(27, 8, 8, 8)), returns)
    # A twentieth off 80 kg is 76, and plates make 75.
    assert (advice.action, advice.reason, advice.load) == ("down", "back_after_gap", 75)


def test_the_way_back_ends_at_a_miss() -> None:
    returns = return_rule(days_ago(27, 7), DAY)
    advice = load_advice(slot(done(27, 8, 8, 8), done(7, 6, 6, 5, load=70)), returns)
    assert (advice.reason, advice.load) == ("one_miss", 70)


def test_after_a_gap_other_repetitions_go_by_their_estimate_less_the_cut() -> None:
    asked = target(kind="by_effort", written="", resolved=None, reps_low=10, reps_high=10, reserve=Decimal(0))
    heavy = target(kind="by_effort", written="", resolved=None, reps_low=3, reps_high=3, reserve=Decimal(0))
    own = slot(done(20, 3, 3, 3, load=120, reserve=0, asked=heavy), target=asked)
    advice = load_advice(own, return_rule(days_ago(20), DAY))
    # Epley: 120 x 1.1 = 132; for ten 132 / (4/3) = 99, so 97.5; a tenth less is 87.75, so 87.5.
    assert (advice.action, advice.reason, advice.load) == ("down", "after_gap", Decimal("87.5"))
    assert advice.sentence.startswith("87.5 kg: Last trained on 2031-03-04, 20 days before: 10 % less load")


def test_a_percentage_is_cut_after_a_gap_too() -> None:
    asked = target(kind="percent", written="75 %", resolved=Decimal(100), from_what="75 % of it.")
    advice = load_advice(slot(done(20, 6, 6, 6, asked=asked), target=asked), return_rule(days_ago(20), DAY))
    assert (advice.action, advice.load) == ("down", 90)
