from decimal import Decimal

import pytest

from programs.prescription.structure import Session
from programs.prescription.timeline import TimelinePolicy, simulate
from tests.programs.prescription.cast import EXERCISES, block, session, slot

STILL = TimelinePolicy(change_station_s=0, between_blocks_s=120, ramp_sets=0)


def kinds(timeline):
    return [event.kind for event in timeline.events]


def test_a_session_alone_is_enough_to_be_simulated():
    timeline = simulate(session(block("straight", slot("A1", "anything", {"count": 3, "reps_low": 10}, rest_s=60))))
    assert (timeline.low_s, timeline.high_s) == (3 * 30 + 2 * 60, 3 * 30 + 2 * 60)
    assert timeline.straight_equivalent_s == timeline.high_s
    assert timeline.minutes_saved == 0
    assert timeline.assumed_work == ("A1",)


def test_an_empty_session_takes_no_time():
    timeline = simulate(Session())
    assert (timeline.low_s, timeline.high_s, timeline.density_ratio) == (0, 0, None)


def test_a_range_of_repetitions_gives_a_low_and_a_high_time():
    timeline = simulate(
        session(
            block("straight", slot("A1", "x", {"count": 4, "reps_low": 6, "reps_high": 8, "tempo": "4010"}, rest_s=90))
        )
    )
    assert (timeline.low_s, timeline.high_s) == (4 * 30 + 270, 4 * 40 + 270)
    assert timeline.effective_rests["A1"].least_s == 90
    assert timeline.effective_rests["A1"].most_s == 90


def test_slots_of_a_pair_take_turns_and_a_finished_slot_is_skipped():
    timeline = simulate(
        session(
            block(
                "paired",
                slot("A1", "x", {"count": 1, "reps_low": 10}, rest_s=60),
                slot("A2", "y", {"count": 3, "reps_low": 10}, rest_s=60),
            )
        )
    )
    worked = [(event.slot_key, event.set_number) for event in timeline.events if event.kind == "work"]
    assert worked == [("A1", 1), ("A2", 1), ("A2", 2), ("A2", 3)]
    assert timeline.high_s == 4 * 30 + 3 * 60
    assert timeline.effective_rests["A1"].reason == "One set: there is nothing to rest between."
    assert timeline.effective_rests["A2"].least_s == 60


@pytest.mark.parametrize(("policy", "change_s"), [(TimelinePolicy(), 30), (TimelinePolicy.at_home(), 15)])
def test_changing_station_takes_a_least_time_that_a_longer_rest_covers(policy, change_s):
    def pair(rest_s):
        return session(
            block(
                "paired",
                slot("A1", "bench-press", {"count": 2, "reps_low": 10}, rest_s=rest_s),
                slot("A2", "pull-up", {"count": 2, "reps_low": 10}, rest_s=rest_s),
            )
        )

    assert simulate(pair(0), EXERCISES, policy).high_s == 4 * 30 + 3 * change_s
    assert simulate(pair(60), EXERCISES, policy).high_s == 4 * 30 + 3 * 60
    assert "change_station" not in kinds(simulate(pair(60), EXERCISES, policy))


def test_exercises_at_one_station_change_in_no_time():
    timeline = simulate(
        session(
            block(
                "paired",
                slot("A1", "split-squat", {"reps_low": 10}, rest_s=0),
                slot("A2", "curl", {"reps_low": 10}, rest_s=0),
            )
        ),
        EXERCISES,
        TimelinePolicy(ramp_sets=0),
    )
    assert timeline.high_s == 60


def test_a_one_sided_set_lasts_twice_as_long_and_changes_sides_once():
    timeline = simulate(
        session(block("straight", slot("A1", "split-squat", {"reps_low": 10, "tempo": "3010"}, per_side=True))),
        EXERCISES,
    )
    assert kinds(timeline) == ["work", "change_sides", "work"]
    assert timeline.high_s == 40 + 5 + 40


def test_ramp_sets_come_once_before_the_first_heavy_lift_of_a_pattern():
    heavy = {"count": 2, "reps_low": 5}
    timeline = simulate(
        session(
            block("straight", slot("A1", "bench-press", heavy, rest_s=180)),
            block("straight", slot("B1", "bench-press", heavy, rest_s=180)),
            block("straight", slot("C1", "pull-up", heavy, rest_s=180)),
        ),
        EXERCISES,
    )
    ramps = [event for event in timeline.events if event.kind == "ramp"]
    assert [(ramp.block_index, ramp.high_s, ramp.assumed) for ramp in ramps] == [(0, 225, True)]


def test_a_slot_that_writes_its_own_ramp_is_given_no_other():
    timeline = simulate(
        session(
            block("straight", slot("A1", "back-squat", {"kind": "ramp", "reps_low": 5}, {"reps_low": 3}, rest_s=60))
        ),
        EXERCISES,
    )
    assert "ramp" not in kinds(timeline)


def test_the_set_that_is_ramped_up_to_is_not_the_ramp():
    written = {"kind": "ramp", "reps_low": 3, "rpe": 8}
    timeline = simulate(
        session(block("straight", slot("A1", "back-squat", written, {"reps_low": 5}, rest_s=60))), EXERCISES
    )
    assert kinds(timeline)[:2] == ["ramp", "work"]
    assert timeline.events[0].high_s == 225


def test_few_repetitions_in_conditioning_are_not_heavy():
    timeline = simulate(session(block("max_rounds", slot("A1", "get-up", {"reps_low": 2}), minutes=10)), EXERCISES)
    assert timeline.high_s == 600


def test_light_work_asks_for_no_ramp():
    timeline = simulate(
        session(block("straight", slot("A1", "bench-press", {"reps_low": 12}, goal="size", rest_s=60))), EXERCISES
    )
    assert "ramp" not in kinds(timeline)


def test_a_rest_that_is_not_written_is_the_goals_and_marked_as_assumed():
    timeline = simulate(session(block("straight", slot("A1", "x", {"count": 2, "reps_low": 5}, goal="strength"))))
    assert timeline.assumed_rests == ("A1",)
    assert timeline.effective_rests["A1"].least_s == 180
    assert timeline.effective_rests["A1"].assumed


def test_rest_is_measured_only_between_sets_that_count():
    timeline = simulate(
        session(
            block(
                "straight",
                slot("A1", "x", {"kind": "warm_up", "count": 2, "reps_low": 5}, {"count": 2, "reps_low": 5}, rest_s=60),
            )
        )
    )
    assert timeline.effective_rests["A1"].sets == 2


def test_a_cluster_rests_inside_the_set():
    timeline = simulate(
        session(
            block(
                "straight",
                slot(
                    "A1",
                    "x",
                    {
                        "kind": "cluster",
                        "count": 2,
                        "tempo": "20X0",
                        "segments": [{"reps": 2}, {"reps": 2, "rest_before_s": 20}, {"reps": 2, "rest_before_s": 20}],
                    },
                    rest_s=120,
                ),
            )
        )
    )
    assert timeline.high_s == 2 * (18 + 40) + 120
    assert timeline.work_high_s == 36
    assert timeline.effective_rests["A1"].least_s == 120


@pytest.mark.parametrize(
    ("group", "exercise", "seconds"),
    [
        ({"duration_s": 45}, "plank", 45),
        ({"distance_m": 500}, "rowing-machine", 125),
        ({"distance_m": 40}, "sled-push", 14),
        ({"calories_kcal": 12}, "rowing-machine", 60),
        ({"reps_low": 2}, "get-up", 40),
    ],
)
def test_work_without_a_tempo_takes_the_usual_time(group, exercise, seconds):
    assert simulate(session(block("straight", slot("A1", exercise, group))), EXERCISES).work_high_s == seconds


def test_a_set_to_the_limit_has_an_open_number_and_says_so():
    timeline = simulate(session(block("straight", slot("A1", "x", {"to_limit": True}))))
    assert (timeline.low_s, timeline.high_s) == (15, 60)
    assert timeline.assumed_work == ("A1",)


def test_intervals_follow_their_clock():
    timeline = simulate(
        session(block("interval", slot("A1", "rowing-machine"), rounds=8, work_s=30, off_s=90)), EXERCISES
    )
    assert timeline.high_s == 8 * 30 + 7 * 90
    assert timeline.effective_rests["A1"].least_s == 90
    assert timeline.density_ratio == Decimal("0.276")


def test_an_every_minute_block_lasts_its_minutes_and_slots_take_turns():
    timeline = simulate(
        session(
            block(
                "every_minute",
                slot("A1", "curl", {"reps_low": 8}),
                slot("A2", "plank", {"duration_s": 30}),
                minutes=5,
            )
        ),
        EXERCISES,
    )
    assert timeline.high_s == 300
    assert [event.slot_key for event in timeline.events if event.kind == "work"] == ["A1", "A2", "A1", "A2", "A1"]
    assert timeline.effective_rests["A1"].least_s == 120 - 24


def test_an_interval_of_its_own_takes_the_place_of_the_minute():
    def every(**timing):
        slots = slot("A1", "curl", {"reps_low": 8}), slot("A2", "plank", {"duration_s": 30})
        return simulate(session(block("every_minute", *slots, **timing)), EXERCISES)

    # 6 min hold four intervals of 90 s: A1, A2, A1, A2; a curl takes 8 x 3 = 24 s, so A1 starts again after 180 s.
    by_minutes = every(every_s=90, minutes=6)
    assert by_minutes.high_s == 360
    assert [event.slot_key for event in by_minutes.events if event.kind == "work"] == ["A1", "A2", "A1", "A2"]
    assert by_minutes.effective_rests["A1"].least_s == 180 - 24
    # 3 rounds of two slots: six intervals of 120 s.
    assert every(every_s=120, rounds=3).high_s == 6 * 120
    # Work that is longer than its interval is cut off by it.
    assert every(every_s=20, rounds=1).work_high_s == 20 + 20


def test_unequal_rounds_ask_for_a_set_of_their_own_each():
    falling = [{"reps_low": reps} for reps in (21, 15, 9)]
    timeline = simulate(
        session(
            block(
                "rounds_for_time",
                slot("A1", "x", *falling, rest_s=0),
                slot("A2", "y", {"reps_low": 10}, rest_s=0),
                rounds=3,
            )
        ),
        EXERCISES,
        STILL,
    )
    # 3 s a repetition: 63 + 30, 45 + 30, 27 + 30.
    assert [event.high_s for event in timeline.events if event.kind == "work"] == [63, 30, 45, 30, 27, 30]
    assert timeline.high_s == 225


@pytest.mark.parametrize(
    ("kind", "timing", "seconds"),
    [
        # A1 30 s, 15 s of rest, A2 30 s; between the two rounds 120 s in place of A2's 60 s.
        ("circuit", {"rounds": 2}, 2 * 75 + 120),
        ("rounds_for_time", {"rounds": 2}, 2 * 75 + 120),
        # 20 s on and 10 s off twice, less the last off, which is the rest between rounds.
        ("interval", {"rounds": 2, "work_s": 20, "off_s": 10}, 2 * 50 + 120),
    ],
)
def test_a_rest_between_rounds_takes_the_place_of_the_rest_after_the_last(kind, timing, seconds):
    slots = slot("A1", "x", {"reps_low": 10}, rest_s=15), slot("A2", "y", {"reps_low": 10}, rest_s=60)
    played = simulate(session(block(kind, *slots, rest_between_rounds_s=120, **timing)), EXERCISES, STILL)
    assert played.high_s == seconds


def test_a_pair_rests_between_its_turns_until_one_is_left():
    slots = (
        slot("A1", "x", {"count": 3, "reps_low": 10}, rest_s=15),
        slot("A2", "y", {"count": 2, "reps_low": 10}, rest_s=60),
    )
    played = simulate(session(block("paired", *slots, rest_between_rounds_s=120)), EXERCISES, STILL)
    # A1 15 A2 120 A1 15 A2 120 A1: five sets of 30 s.
    assert played.high_s == 5 * 30 + 2 * 15 + 2 * 120
    assert played.assumed_rests == ()


def test_a_block_of_most_rounds_lasts_its_minutes_and_counts_whole_rounds():
    timeline = simulate(
        session(
            block(
                "max_rounds",
                slot("A1", "curl", {"reps_low": 8, "reps_high": 12}, rest_s=0),
                slot("A2", "plank", {"duration_s": 30}, rest_s=0),
                minutes=5,
                entry={"exercise": "rowing-machine", "duration_s": 120},
            )
        ),
        EXERCISES,
    )
    # Rounds of 54 to 66 s: five whole ones fit the quicker reading, four the slower.
    assert (timeline.blocks[0].rounds_low, timeline.blocks[0].rounds_high) == (4, 5)
    assert (timeline.low_s, timeline.high_s) == (120 + 30 + 300, 120 + 30 + 300)


def test_a_long_block_of_short_rounds_still_lasts_its_minutes():
    timeline = simulate(session(block("max_rounds", slot("A1", "x", {"reps_low": 1}, rest_s=0), minutes=60)))
    assert timeline.high_s == 3600
    assert timeline.events[-1].kind == "rounds"


def test_rounds_for_time_stop_at_their_cap():
    def rounds(cap_min):
        return session(block("rounds_for_time", slot("A1", "x", {"reps_low": 20}), rounds=5, cap_min=cap_min))

    assert simulate(rounds(None)).high_s == 300
    assert simulate(rounds(4)).high_s == 240


def test_steady_work_lasts_its_minutes_or_its_distance():
    assert simulate(session(block("steady", slot("A1", "rowing-machine"), minutes=20)), EXERCISES).high_s == 1200
    by_distance = session(block("steady", slot("A1", "rowing-machine", {"distance_m": 2000})))
    assert simulate(by_distance, EXERCISES).high_s == 500


def test_a_circuit_repeats_its_slots_by_rounds():
    timeline = simulate(
        session(
            block(
                "circuit",
                slot("A1", "curl", {"reps_low": 10}),
                slot("A2", "split-squat", {"reps_low": 10}),
                rounds=3,
            )
        ),
        EXERCISES,
        STILL,
    )
    assert timeline.high_s == 6 * 30 + 5 * 15
    assert timeline.effective_rests["A1"].least_s == 30 + 2 * 15


def test_a_muscle_rests_from_any_slot_that_works_it():
    timeline = simulate(
        session(
            block(
                "paired",
                slot("A1", "back-squat", {"count": 2, "reps_low": 10}, rest_s=60),
                slot("A2", "split-squat", {"count": 2, "reps_low": 10}, rest_s=60),
            )
        ),
        EXERCISES,
        STILL,
    )
    assert timeline.effective_rests["A1"].least_s == 60 + 30 + 60
    assert timeline.muscle_rests["quadriceps"].least_s == 60
    assert timeline.muscle_rests["glutes"].least_s == 150
    assert set(timeline.muscle_rests) == {"quadriceps", "glutes"}


def test_the_straight_equivalent_keeps_the_same_effective_rests():
    timeline = simulate(
        session(
            block(
                "paired",
                slot("A1", "x", {"count": 4, "reps_low": 10}, rest_s=90),
                slot("A2", "y", {"count": 4, "reps_low": 10}, rest_s=90),
            )
        )
    )
    effective_s = 90 + 30 + 90
    assert timeline.effective_rests["A1"].least_s == effective_s
    assert timeline.straight_equivalent_s == 2 * (4 * 30 + 3 * effective_s) + 90
    assert timeline.minutes_saved == Decimal("12.0")
