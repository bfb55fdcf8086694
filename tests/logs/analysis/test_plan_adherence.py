from decimal import Decimal

import pytest

from logs.analysis.facts import AskedFact
from logs.analysis.plan_adherence import plan_adherence
from programs.prescription.tempo import parse_tempo
from tests.logs.analysis.test_weekly import CHIN_UP, one, planned


def asked(**more):
    return {"slot_key": "A1", "slot_planned": True, "asked": AskedFact(**({"reps": 5} | more))}


def of(*sets, state="done", **more):
    return plan_adherence([planned(state=state, sets=sets, **more)])


def test_sets_are_those_done_over_those_planned_of_each_session_at_most_as_many():
    week = [
        planned(planned_work_sets=10, done_work_sets=14),
        planned(1, "part_done", planned_work_sets=10, done_work_sets=4),
        planned(2, "missed", planned_work_sets=8),
        planned(3, "excused", planned_work_sets=8),
    ]
    found = plan_adherence(week)
    assert (found.sets_done, found.sets_planned, found.adherence_sets) == (14, 28, Decimal("0.5"))


def test_repetitions_are_those_done_over_the_fewest_planned():
    found = of(one(reps=5, **asked()), one(number=2, reps=3, **asked()), planned_reps=10)
    assert (found.reps_done, found.reps_planned, found.adherence_reps) == (8, 10, Decimal("0.8"))


def test_more_repetitions_than_planned_make_up_for_no_other_session():
    week = [planned(planned_reps=5, sets=(one(reps=9, **asked()),)), planned(1, "missed", planned_reps=5)]
    assert plan_adherence(week).adherence_reps == Decimal("0.5")


def test_sets_to_the_limit_and_beyond_the_plan_fulfil_no_planned_repetitions():
    beyond = one(number=9, reps=5, slot_key="A1", slot_planned=True)
    assert of(one(reps=30, **asked(reps=None)), beyond, planned_reps=10).reps_done == 0


def test_of_an_app_that_names_no_slots_all_repetitions_count():
    assert of(one(reps=5), planned_reps=10).adherence_reps == Decimal("0.5")


def test_a_row_of_both_sides_is_the_repetitions_of_each():
    assert of(one(reps=5, **asked(sides=2)), planned_reps=10).adherence_reps == 1


def test_load_is_held_against_the_plan_only_where_both_are_known_in_the_planned_exercise():
    found = of(
        one(load_kg=Decimal(90), **asked(load_kg=Decimal(100))),
        one(number=2, load_kg=Decimal(105), **asked(load_kg=Decimal(100))),
        one(number=3, load_kg=None, **asked(load_kg=Decimal(100))),
        one(number=4, **asked()),
        one(number=5, swapped=True, **asked(load_kg=Decimal(50))),
    )
    assert (found.adherence_load, found.load_judged_sets) == (Decimal("0.975"), 2)


@pytest.mark.parametrize(
    ("tempo", "phase_s", "kept"),
    [
        # 25 % of 4 s is the larger tolerance, 0.5 s of 1 s.
        ("4010", {"eccentric": "3.0"}, True),
        ("4010", {"eccentric": "2.99"}, False),
        ("3110", {"lengthened": "0.5"}, True),
        ("3110", {"lengthened": "0.49"}, False),
        # A slow concentric is never a fault.
        ("3010", {"eccentric": "3.0", "concentric": "6.0"}, True),
    ],
)
def test_a_tempo_is_kept_within_the_larger_of_half_a_second_and_a_quarter(tempo, phase_s, kept):
    measured = {name: Decimal(seconds) for name, seconds in phase_s.items()}
    found = of(one(phase_s=measured, **asked(tempo=parse_tempo(tempo))))
    assert (found.tempo_judged_sets, found.tempo_kept_sets, found.adherence_tempo) == (1, int(kept), int(kept))


def test_a_restful_pause_is_at_fault_when_lingered_never_when_short():
    def kept(seconds):
        plan = asked(tempo=parse_tempo("3210"))
        return of(one(CHIN_UP, phase_s={"lengthened": Decimal(seconds)}, **plan)).tempo_kept_sets

    assert [kept("0.2"), kept("2.5"), kept("2.51")] == [1, 1, 0]


def test_one_rushed_side_is_a_set_whose_tempo_was_not_kept():
    plan = asked(tempo=parse_tempo("4010"))
    sides = [
        one(side="left", phase_s={"eccentric": Decimal(4)}, **plan),
        one(side="right", phase_s={"eccentric": Decimal(1)}, **plan),
    ]
    found = of(*sides)
    assert (found.tempo_judged_sets, found.tempo_kept_sets) == (1, 0)


def test_without_a_base_there_is_no_share():
    found = plan_adherence([])
    shares = (found.adherence_sets, found.adherence_reps, found.adherence_load, found.adherence_tempo)
    assert shares == (None,) * 4
