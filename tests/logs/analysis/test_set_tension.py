from decimal import Decimal

import pytest

from logs.analysis.facts import AskedFact, LiftedExercise
from logs.analysis.set_tension import density_s_per_min, tension_sums
from programs.prescription.tempo import parse_tempo
from tests.logs.analysis.test_weekly import SQUAT, one

CHIN = LiftedExercise(key="chin-up", restful_end="lengthened")
PLANK = LiftedExercise(key="plank", measure="seconds")
FOUR_PHASES = {
    "eccentric": Decimal("4.1"),
    "lengthened": Decimal("0.9"),
    "concentric": Decimal("1.4"),
    "shortened": Decimal("1.1"),
}


def asked(tempo, **more):
    return AskedFact(tempo=parse_tempo(tempo), **more)


def test_time_under_tension_is_repetitions_times_the_tempo_with_an_x_as_one_second():
    sums = tension_sums([one(reps=10, tempo=parse_tempo("41X1"))])
    assert (sums.tension_s, sums.working_s) == (70, 70)


def test_the_pause_at_the_restful_end_and_an_assisted_concentric_are_no_working_time():
    sums = tension_sums([one(CHIN, reps=5, tempo=parse_tempo("32A1"))])
    # 3 + 2 + 1 + 1 a repetition; without the two seconds of hanging and the second of help, four.
    assert (sums.tension_s, sums.working_s) == (35, 20)


def test_the_logs_own_tempo_comes_before_the_plans():
    assert tension_sums([one(reps=5, tempo=parse_tempo("2010"), asked=asked("4010"))]).tension_s == 15
    assert tension_sums([one(reps=5, asked=asked("4010"))]).tension_s == 25


@pytest.mark.parametrize(("side", "seconds"), [("both", 60), ("left", 30)])
def test_a_row_of_both_sides_of_a_one_sided_slot_is_twice_the_time(side, seconds):
    assert tension_sums([one(reps=10, side=side, asked=asked("2010", sides=2))]).tension_s == seconds


def test_a_hold_is_under_tension_for_its_seconds_and_other_timed_work_is_not():
    sums = tension_sums(
        [one(PLANK, reps=None, duration_s=Decimal(45)), one(number=2, reps=None, duration_s=Decimal(60))]
    )
    assert (sums.tension_s, sums.working_s, sums.unknown_tension_sets) == (45, 45, 0)


def test_sets_without_a_known_tempo_are_counted_beside_the_two_sides_of_one_number_as_one():
    sums = tension_sums([one(), one(number=2, side="left"), one(number=2, side="right")])
    assert (sums.tension_s, sums.unknown_tension_sets) == (0, 2)


def test_what_was_measured_is_kept_apart_from_what_was_asked():
    sums = tension_sums([one(reps=10, asked=asked("3010"), phase_s=FOUR_PHASES), one(number=2, asked=asked("3010"))])
    assert (sums.tension_s, sums.measured_tension_s, sums.measured_sets) == (60, 75, 1)


@pytest.mark.parametrize(("tempo", "measured"), [("3010", 1), ("3110", 0), (None, 0)])
def test_a_pause_that_was_not_measured_is_none_only_where_none_was_asked(tempo, measured):
    phases = {name: seconds for name, seconds in FOUR_PHASES.items() if name != "lengthened"}
    plan = None if tempo is None else asked(tempo)
    assert tension_sums([one(asked=plan, phase_s=phases)]).measured_sets == measured


def test_density_is_seconds_of_work_for_each_minute_of_the_sessions_of_known_length():
    sets = [
        one(SQUAT, reps=10, tempo=parse_tempo("41X1")),
        one(number=2, reps=None, duration_s=Decimal(110)),
        one(session="s2", reps=10, tempo=parse_tempo("41X1")),
    ]
    assert density_s_per_min(sets, {"s1": Decimal(45)}) == 4
    assert density_s_per_min(sets, {}) is None
    assert density_s_per_min([one()], {"s1": Decimal(45)}) is None
