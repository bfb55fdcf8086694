from dataclasses import replace
from itertools import product

import pytest

from programs.prescription.paired_block import plan_block, time_exercise
from programs.prescription.pairing_cuts import fitting_cuts, without_last_sets
from programs.prescription.structure import SetGroup, Slot
from programs.prescription.timeline import TimelinePolicy
from tests.programs.prescription.pairing_cast import facts, planned

POLICY = TimelinePolicy()
GIVEN = [
    planned(facts("squat", "quadriceps"), sets=4, rest_s=150, goal="strength"),
    planned(facts("row", "upper_back"), sets=4, rest_s=90, goal="size"),
    planned(facts("press", "chest"), sets=3, rest_s=90, goal="size"),
    planned(facts("raise", "side_delts", pattern="shoulder_isolation"), sets=3, rest_s=60, goal="size"),
]


def timed(items):
    return [time_exercise(index, item.slot, item.facts, POLICY) for index, item in enumerate(items)]


def plans(items):
    first, second, third, fourth = timed(items)
    return (plan_block([first, second], POLICY), plan_block([third, fourth], POLICY))


def cut_items(taken):
    return [replace(item, slot=without_last_sets(item.slot, sets)) for item, sets in zip(GIVEN, taken, strict=True)]


def cuts_of(*args):
    """What is found, or None."""
    return fitting_cuts(*args)


def high_s(items):
    return sum(plan.high_s for plan in plans(items))


@pytest.mark.parametrize("over_s", [1, 60, 200, 500, 800])
def test_no_smaller_cut_fits(over_s):
    whole_s = high_s(GIVEN)
    found = cuts_of(plans(GIVEN), over_s, POLICY)
    assert sum(plan.high_s for plan in found.plans) <= whole_s - over_s
    every = product(*(range(item.slot.set_count) for item in GIVEN))
    fewest = min(sum(taken) for taken in every if high_s(cut_items(taken)) <= whole_s - over_s)
    assert sum(cut.sets_cut for cut in found.cuts) == fewest


def test_of_equally_small_cuts_the_accessory_is_taken():
    (cut,) = cuts_of(plans(GIVEN), 1, POLICY).cuts
    assert cut.exercise_index == 3


def test_nothing_is_found_where_even_one_set_of_each_is_too_long():
    assert cuts_of(plans(GIVEN), 10_000, POLICY) is None


def test_working_sets_are_taken_from_the_end_and_warm_ups_stay():
    slot = Slot(
        slot_key="A1",
        exercise="squat",
        sets=(
            SetGroup(kind="warm_up", count=2, reps_low=8),
            SetGroup(kind="top", reps_low=3),
            SetGroup(kind="back_off", count=2, reps_low=5),
        ),
    )
    assert [(group.kind, group.count) for group in without_last_sets(slot, 1).sets] == [
        ("warm_up", 2),
        ("top", 1),
        ("back_off", 1),
    ]
    assert [group.kind for group in without_last_sets(slot, 2).sets] == ["warm_up", "top"]
