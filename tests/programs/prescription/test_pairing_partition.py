"""The partition against brute force: every set partition, every order, every rest, played on the real timeline."""

from functools import cache
from itertools import combinations, pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.pairings import PlannedExercise, best_pairings
from programs.prescription.structure import Block, ExerciseFacts, Session, SetGroup, Slot
from programs.prescription.timeline import TimelinePolicy, simulate

POLICY = TimelinePolicy()
SHARED = {"floor", "wall", "lane", "open_ground"}


def partitions(items):
    """Every way of splitting a list into groups of at most four."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for size in range(min(3, len(rest)) + 1):
        for mates in combinations(rest, size):
            left = [item for item in rest if item not in mates]
            for others in partitions(left):
                yield [(first, *mates), *others]


def allowed(group, exercises):
    for one, other in combinations(group, 2):
        first, second = exercises[one].facts, exercises[other].facts
        if first.station == second.station and first.station not in SHARED:
            return False
        if first.pattern == second.pattern == "grip":
            return False
        if first.pattern == second.pattern == "trunk_stability":
            return False
    return True


def keeps(spans, wanted_s):
    """Whether each of a row of sets starts late enough after the one before."""
    return all(after[1] - before[2] >= wanted_s[after[0]] for before, after in pairwise(spans))


def rested(session, exercises, index_of):
    """Whether every slot, and every muscle before the set that needs it, rests as that set wants."""
    facts = {exercise.facts.key: exercise.facts for exercise in exercises}
    timeline = simulate(session, facts, POLICY)
    spans = [
        (index_of[event.slot_key], event.start_low_s, event.start_low_s + event.low_s)
        for event in timeline.events
        if event.kind == "work"
    ]
    wanted_s = [exercise.slot.rest_s for exercise in exercises]
    slots = [[span for span in spans if span[0] == index] for index in range(len(exercises))]
    muscles = {muscle for found in facts.values() for muscle in found.primary_muscles}
    worked = [[span for span in spans if muscle in exercises[span[0]].facts.primary_muscles] for muscle in muscles]
    return all(keeps(row, wanted_s) for row in [*slots, *worked]), timeline


def brute_force_s(exercises):
    """The least session time over every partition, order and rest."""

    @cache
    def block_s(group):
        best = None
        for order in permutations(group):
            start_s = exercises[order[0]].slot.rest_s if len(order) == 1 else POLICY.change_station_s
            for rest_s in range(start_s, 400, 5):
                slots = tuple(
                    Slot(
                        slot_key=f"E{index}",
                        exercise=exercises[index].facts.key,
                        rest_s=rest_s,
                        sets=exercises[index].slot.sets,
                    )
                    for index in order
                )
                block = Block(kind="paired" if len(order) > 1 else "straight", slots=slots)
                index_of = {f"E{index}": index for index in order}
                enough, timeline = rested(Session(blocks=(block,)), exercises, index_of)
                if enough:
                    best = timeline.high_s if best is None else min(best, timeline.high_s)
                    break
        return best

    times = []
    for partition in partitions(tuple(range(len(exercises)))):
        if all(allowed(group, exercises) for group in partition):
            total = sum(block_s(group) for group in partition)
            times.append(total + POLICY.between_blocks_s * (len(partition) - 1))
    return min(times)


def exercise(number, muscles, station, pattern, *timing):
    sets, work_s, rest_s = timing
    key = f"lift-{number}"
    facts = ExerciseFacts(
        key=key,
        name=key,
        pattern=pattern,
        primary_muscles=muscles,
        measure="seconds",
        secondary_muscles=("forearms",) if pattern == "grip" else (),
        station=station,
    )
    slot = Slot(slot_key="x", exercise=key, rest_s=rest_s, sets=(SetGroup(count=sets, duration_s=work_s),))
    return PlannedExercise(slot=slot, facts=facts)


SEVEN = [
    exercise(0, ("quadriceps",), "rack", "squat", 4, 30, 150),
    exercise(1, ("chest",), "press_bench", "horizontal_push", 4, 40, 150),
    exercise(2, ("lats",), "pull_up_bar", "vertical_pull", 4, 35, 150),
    exercise(3, ("chest", "triceps"), "dip_bars", "horizontal_push", 3, 40, 90),
    exercise(4, ("abdominals",), "floor", "trunk_stability", 3, 45, 60),
    exercise(5, ("quadriceps",), "rack", "lunge", 3, 60, 90),
    exercise(6, ("obliques",), "floor", "trunk_stability", 2, 30, 60),
]


@pytest.mark.parametrize("number", [1, 2, 3, 5, 7])
def test_the_partition_is_the_quickest_of_all(number):
    exercises = SEVEN[:number]
    assert best_pairings(exercises)[0].timeline.high_s == brute_force_s(exercises)


@st.composite
def lists(draw):
    return [
        exercise(
            number,
            tuple(draw(st.sets(st.sampled_from(["chest", "lats", "glutes"]), min_size=1, max_size=2))),
            draw(st.sampled_from(["floor", "rack", "bench", f"own-{number}"])),
            draw(st.sampled_from(["squat", "hinge", "grip", "trunk_stability"])),
            draw(st.integers(1, 4)),
            draw(st.sampled_from([20, 45])),
            draw(st.sampled_from([30, 60, 120])),
        )
        for number in range(draw(st.integers(2, 4)))
    ]


@settings(max_examples=25, deadline=None)
@given(lists())
def test_no_list_has_a_quicker_partition(exercises):
    assert best_pairings(exercises)[0].timeline.high_s == brute_force_s(exercises)
