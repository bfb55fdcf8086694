from dataclasses import replace

import pytest

from programs.prescription.pairings import PairingError, PairingPolicy, PlannedExercise, best_pairings
from programs.prescription.prescribed_loads import SameAsLoad
from programs.prescription.structure import SetGroup, Slot
from programs.prescription.tempo import parse_tempo
from programs.prescription.timeline import TimelinePolicy
from tests.programs.prescription.cast import BACK_SQUAT, BENCH_PRESS, CURL, PULL_UP, SPLIT_SQUAT
from tests.programs.prescription.pairing_cast import exercises_of, facts, planned


def lift(found, count, reps, tempo, goal, **fields):
    group = SetGroup(count=count, reps_low=reps, tempo=parse_tempo(tempo))
    return PlannedExercise(slot=Slot(slot_key="x", exercise=found.key, goal=goal, sets=(group,), **fields), facts=found)


def best_of(*args, **kwargs):
    """The quickest pairing."""
    return best_pairings(*args, **kwargs)[0]


PRESS_AND_PULL = [lift(BENCH_PRESS, 4, 6, "41X1", "strength"), lift(PULL_UP, 4, 5, "31X2", "strength")]


def test_a_press_and_a_pull_take_turns_and_each_keeps_the_rest_that_strength_wants():
    best = best_of(PRESS_AND_PULL)
    assert exercises_of(best) == [["bench-press", "pull-up"]]
    # By hand: a press takes 42 s, a pull-up 35 s; 150 s are wanted. 2 r + 35 must be 150 at least: r = 60 in steps
    # of 5 s, and the press rests 60 + 35 + 60 = 155 s, the pull-up 60 + 42 + 60 = 162 s.
    assert best.blocks[0].rest_s == 60
    assert best.timeline.effective_rests["A1"].least_s == 155
    assert best.timeline.effective_rests["A2"].least_s == 162
    # 4 x 42 + 4 x 35 + 7 x 60.
    assert best.blocks[0].high_s == 728


def test_the_straight_sets_stand_beside_it_with_what_the_pairing_saves():
    best, straight = best_pairings(PRESS_AND_PULL)
    assert (best.kind, straight.kind) == ("least_time", "straight")
    assert exercises_of(straight) == [["bench-press"], ["pull-up"]]
    # 4 x 42 + 3 x 150, 120 between the blocks, 4 x 35 + 3 x 150, against 728; ramp sets are in both.
    assert best.saved_min * 60 == pytest.approx(1328 - 728, abs=3)
    assert straight.saved_min == 0


def test_slots_get_keys_by_place_and_the_places_given_are_kept():
    best = best_pairings([*PRESS_AND_PULL, lift(BACK_SQUAT, 3, 5, "31X1", "strength")])[-1]
    assert [slot.slot_key for slot in best.session.slots] == ["A1", "B1", "C1"]
    assert [block.exercise_indexes for block in best.blocks] == [(0,), (1,), (2,)]


def test_no_two_exercises_of_a_block_need_one_station():
    rack = [planned(facts(key, key, station="rack"), rest_s=60) for key in ("squat", "press")]
    assert exercises_of(best_of(rack)) == [["squat"], ["press"]]


def test_the_floor_has_room_for_two():
    floor = [planned(facts(key, key, station="floor"), rest_s=60) for key in ("plank", "bridge")]
    assert exercises_of(best_of(floor)) == [["plank", "bridge"]]


def test_grip_is_not_the_limit_twice():
    deadlift = facts("deadlift", "hamstrings", pattern="hinge", secondary=("forearms",))
    chin_up = facts("chin-up", "lats", pattern="vertical_pull", secondary=("forearms",))
    best = best_of([planned(deadlift, rest_s=60), planned(chin_up, rest_s=60)])
    assert exercises_of(best) == [["deadlift"], ["chin-up"]]
    assert "Deadlift is limited by grip, as is Chin Up." in best.blocks[0].reasons


def test_the_trunk_is_not_the_limit_twice():
    plank = facts("plank", "abdominals", pattern="trunk_stability")
    back_raise = facts("back-raise", "spinal_erectors", pattern="hinge")
    best = best_of([planned(plank, rest_s=60), planned(back_raise, rest_s=60)])
    assert exercises_of(best) == [["plank"], ["back-raise"]]


def test_two_exercises_of_one_muscle_rest_in_full_between_their_sets():
    like = [planned(facts(key, "chest"), rest_s=90, work_s=30) for key in ("press", "fly")]
    best = best_of(like)
    for block in best.blocks:
        assert block.rest_s >= 90
    paired = [block for block in best.blocks if len(block.exercise_indexes) > 1]
    assert all("kept in full" in " ".join(block.reasons) for block in paired)


def test_a_muscle_met_again_across_blocks_is_a_finding_and_no_bar():
    # Both need the rack, so they stand in two blocks with 120 s between, and 150 s are wanted.
    heavy = [
        PlannedExercise(
            slot=Slot(slot_key="x", exercise=key, goal="strength", sets=(SetGroup(count=3, reps_low=5),)),
            facts=replace(BACK_SQUAT, key=key, name=key),
        )
        for key in ("first-squat", "second-squat")
    ]
    best = best_of(heavy)
    (finding,) = best.findings
    assert finding.code == "short_muscle_rest"
    assert (finding.figure, finding.bound) == (120, 150)
    assert "across blocks" in finding.message


def test_a_written_rest_is_what_is_kept():
    short = [replace(item, slot=replace(item.slot, rest_s=90)) for item in PRESS_AND_PULL]
    best = best_of(short)
    # 2 r + 35 must be 90 at least, and changing station takes 30 s: 30 s are enough.
    assert best.blocks[0].rest_s == 30
    assert best.timeline.effective_rests["A1"].least_s == 95


def test_novices_need_less_rest_for_strength():
    novice = best_of(PRESS_AND_PULL, policy=PairingPolicy(novice=True))
    assert novice.timeline.high_s < best_of(PRESS_AND_PULL).timeline.high_s


def test_at_home_the_next_station_is_nearer():
    at_home = PairingPolicy(timeline=TimelinePolicy.at_home())
    small = [lift(CURL, 3, 20, "2010", "size"), lift(SPLIT_SQUAT, 3, 10, "3010", "size", per_side=True)]
    assert best_of(small, policy=at_home).blocks[0].rest_s == 15
    assert best_of(small).blocks[0].rest_s == 30


def test_pairs_alone_are_offered_where_the_quickest_way_takes_more_than_two():
    four = [planned(facts(key, key), rest_s=150) for key in ("one", "two", "three", "four")]
    kinds = {pairing.kind: exercises_of(pairing) for pairing in best_pairings(four)}
    assert kinds["least_time"] == [["one", "two", "three", "four"]]
    assert kinds["pairs_only"] == [["one", "two"], ["three", "four"]]


def test_the_order_given_breaks_ties():
    same = [planned(facts(key, key), rest_s=90) for key in ("one", "two", "three", "four", "five")]
    (pairs,) = [pairing for pairing in best_pairings(same) if pairing.kind == "pairs_only"]
    assert exercises_of(pairs) == [["one", "two"], ["three", "four"], ["five"]]


def test_without_minutes_nothing_fits_or_fails():
    best = best_of(PRESS_AND_PULL)
    assert (best.fits, best.over_min, best.cuts) == (None, None, None)


def test_what_fits_is_not_cut():
    best = best_of(PRESS_AND_PULL, 60)
    assert (best.fits, best.over_min, best.cuts) == (True, 0, None)


def test_over_budget_the_fewest_sets_are_cut_and_accessories_first():
    main = planned(facts("squat", "quadriceps", station="rack"), sets=4, rest_s=150, goal="strength")
    accessory = planned(
        facts("curl", "biceps", station="rack", pattern="elbow_flexion"), sets=3, rest_s=60, goal="size"
    )
    # By hand: 4 x 40 + 3 x 150, 120 between, 3 x 40 + 2 x 60 = 970 s; 16 min are 960 s.
    found = best_of([main, accessory], 16)
    assert (found.fits, found.timeline.high_s) == (False, 970)
    assert [(cut.exercise_index, cut.sets_cut, cut.sets_left) for cut in found.cuts.cuts] == [(1, 1, 2)]
    assert found.cuts.timeline.high_s == 970 - 40 - 60
    assert [slot.set_count for slot in found.cuts.session.slots] == [4, 2]


def test_cuts_that_cannot_be_enough_are_said_to_be_so():
    found = best_of(PRESS_AND_PULL, 5)
    assert found.cuts.cuts == ()
    assert "split the session" in found.cuts.reason


def test_more_than_twelve_are_refused_with_a_sentence():
    thirteen = [planned(facts(f"lift-{number}", f"muscle-{number}")) for number in range(13)]
    with pytest.raises(PairingError, match="at most 12 exercises, not 13"):
        best_pairings(thirteen)


def test_nothing_to_place_is_refused():
    with pytest.raises(PairingError, match="at least one exercise"):
        best_pairings([])


def test_an_exercise_without_working_sets_is_refused_at_its_place():
    idle = replace(PRESS_AND_PULL[1], slot=replace(PRESS_AND_PULL[1].slot, sets=(SetGroup(kind="warm_up"),)))
    with pytest.raises(PairingError, match="Pull-up at least one working set") as refused:
        best_pairings([PRESS_AND_PULL[0], idle])
    assert refused.value.exercise_index == 1


def test_a_load_taken_from_another_slot_is_refused():
    group = SetGroup(reps_low=5, load=SameAsLoad(slot_key="A1"))
    tied = replace(PRESS_AND_PULL[1], slot=replace(PRESS_AND_PULL[1].slot, sets=(group,)))
    with pytest.raises(PairingError, match="Write the load"):
        best_pairings([PRESS_AND_PULL[0], tied])


def test_twelve_exercises_are_all_placed_once():
    twelve = [planned(facts(f"lift-{number}", f"muscle-{number % 5}"), rest_s=60) for number in range(12)]
    best = best_of(twelve)
    assert sorted(index for block in best.blocks for index in block.exercise_indexes) == list(range(12))
