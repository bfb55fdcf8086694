"""What holds of every pairing, whatever is to be placed."""

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.block_barriers import barrier
from programs.prescription.paired_block import plan_block, time_exercise
from programs.prescription.pairings import PlannedExercise, best_pairings
from programs.prescription.structure import Session, Slot
from programs.prescription.timeline import TimelinePolicy, simulate
from tests.programs.prescription.cast import EXERCISES
from tests.properties.test_timeline import set_groups

LIFTS = ["bench-press", "pull-up", "back-squat", "split-squat", "curl"]


@st.composite
def exercises(draw, *, most=5):
    keys = draw(st.lists(st.sampled_from(LIFTS), min_size=1, max_size=most))
    return [
        PlannedExercise(
            slot=Slot(
                slot_key="x",
                exercise=key,
                goal=draw(st.sampled_from([None, "strength", "size", "endurance"])),
                per_side=draw(st.booleans()),
                rest_s=draw(st.one_of(st.none(), st.integers(0, 240))),
                sets=tuple(draw(st.lists(set_groups(), min_size=1, max_size=2))),
            ),
            facts=EXERCISES[key],
        )
        for key in keys
    ]


def timed(items):
    policy = TimelinePolicy()
    return [time_exercise(index, item.slot, item.facts, policy) for index, item in enumerate(items)]


@settings(max_examples=50, deadline=None)
@given(exercises(most=4))
def test_a_planned_block_takes_the_time_that_the_timeline_plays(items):
    plan = plan_block(timed(items), TimelinePolicy())
    played = simulate(Session(blocks=(plan.block("A"),)), EXERCISES, TimelinePolicy(ramp_sets=0))
    assert (played.low_s, played.high_s) == (plan.low_s, plan.high_s)


@settings(max_examples=50, deadline=None)
@given(exercises(most=4))
def test_every_slot_of_a_planned_block_keeps_the_rest_that_is_wanted(items):
    plan = plan_block(timed(items), TimelinePolicy())
    block = plan.block("A")
    played = simulate(Session(blocks=(block,)), EXERCISES, TimelinePolicy(ramp_sets=0))
    for exercise, slot in zip(plan.order, block.slots, strict=True):
        rest = played.effective_rests[slot.slot_key]
        assert rest.least_s is None or rest.least_s >= exercise.wanted_rest_s


@settings(max_examples=40, deadline=None)
@given(exercises())
def test_everything_is_placed_once_and_no_barrier_is_crossed(items):
    for pairing in best_pairings(items):
        placed = sorted(index for block in pairing.blocks for index in block.exercise_indexes)
        assert placed == list(range(len(items)))
        for block in pairing.blocks:
            for first, second in combinations(block.exercise_indexes, 2):
                assert barrier(items[first].facts, items[second].facts) is None


@settings(max_examples=40, deadline=None)
@given(exercises(), st.integers(5, 90))
def test_no_pairing_is_quicker_than_the_first_and_cuts_fit_the_minutes(items, minutes):
    pairings = best_pairings(items, minutes)
    blocks_s = [sum(block.high_s for block in pairing.blocks) + 120 * len(pairing.blocks) for pairing in pairings]
    assert blocks_s == sorted(blocks_s)
    for pairing in pairings:
        if pairing.cuts is not None and pairing.cuts.timeline is not None:
            assert pairing.cuts.timeline.high_s <= minutes * 60
