from dataclasses import replace
from decimal import Decimal

from programs.prescription.analysis import analyse_session
from tests.programs.prescription.cast import BENCH_PRESS, EXERCISES, block, session, slot

INCLINE = replace(BENCH_PRESS, key="incline-press", name="Incline press", station="incline-bench")
KNOWN = {**EXERCISES, INCLINE.key: INCLINE}


def findings(*blocks):
    found = analyse_session(session(*blocks), KNOWN).findings
    return [finding for finding in found if finding.code == "short_muscle_rest"]


def press(key, exercise, goal="size", rest_s=90):
    sets = {"count": 3, "reps_low": 10, "tempo": "2010"}
    return slot(key, exercise, sets, goal=goal, rest_s=rest_s)


def test_two_presses_that_take_turns_too_quickly_are_a_note_at_the_later_one():
    (found,) = findings(block("paired", press("A1", "bench-press", rest_s=30), press("A2", "incline-press")))
    assert (found.severity, found.pointer) == ("note", "#/blocks/0/slots/1")
    # Three meetings, said once; the way back rests 90 s, which is enough.
    assert (found.figure, found.bound, found.unit) == (Decimal(30), Decimal(90), "s")
    assert "inside the block" in found.message


def test_rest_enough_between_them_is_no_finding():
    assert not findings(block("paired", press("A1", "bench-press"), press("A2", "incline-press")))


def test_unlike_muscles_need_no_rest_between_them():
    assert not findings(block("paired", press("A1", "bench-press", rest_s=0), press("A2", "pull-up", rest_s=60)))


def test_work_whose_rest_nothing_published_speaks_of_is_passed_over():
    assert not findings(
        block("paired", press("A1", "bench-press", goal="mobility", rest_s=0), press("A2", "incline-press", "mobility"))
    )


def test_a_warm_up_set_tires_no_muscle():
    warm_up = slot("A1", "bench-press", {"kind": "warm_up", "count": 3, "reps_low": 10}, goal="size", rest_s=0)
    assert not findings(block("paired", warm_up, press("A2", "incline-press")))
