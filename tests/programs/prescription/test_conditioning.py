from dataclasses import replace
from decimal import Decimal

import pytest

from programs.prescription.analysis import analyse_session
from tests.programs.prescription.cast import EXERCISES, ROWER, block, session, slot

SIT_UP = replace(EXERCISES["plank"], key="sit-up", name="Sit-up", measure="reps", repetition_s=Decimal(2))
RING_ROW = replace(EXERCISES["pull-up"], key="ring-row", name="Ring row", repetition_s=Decimal(2), complexity=1)
SWING = replace(
    EXERCISES["get-up"], key="swing", name="Swing", laterality="bilateral", repetition_s=Decimal(2), complexity=2
)
ROWING = replace(ROWER, station="rowing_machine", repetition_s=Decimal("0.27"))
KNOWN = {**EXERCISES, **{facts.key: facts for facts in (SIT_UP, RING_ROW, SWING, ROWING)}}


def analysed(*blocks):
    return analyse_session(session(*blocks), KNOWN)


def piece(*blocks):
    (found,) = analysed(*blocks).conditioning
    return found


def codes(*blocks):
    return [finding.code for finding in analysed(*blocks).findings]


def brakes(*blocks):
    return {brake.kind for brake in piece(*blocks).brakes}


ROUNDS = [
    slot("C1", "get-up", {"reps_low": 2}, per_side=True),
    slot("C2", "sit-up", {"reps_low": 12}),
    slot("C3", "ring-row", {"reps_low": 10}),
]


def test_a_timed_block_is_played_to_whole_rounds():
    found = piece(block("max_rounds", *ROUNDS, minutes=12))
    # By hand: get-ups 2 x 20 a side with 5 s to change, 85 s; sit-ups 24 s on the same floor; 30 s to the rings;
    # rows 20 s; 30 s back: 189 s a round. 720 s hold 3 rounds of them (the last round needs no way back).
    assert (found.round_low_s, found.round_high_s) == (189, 189)
    assert (found.rounds_low, found.rounds_high) == (3, 3)
    assert (found.low_s, found.high_s) == (720, 720)
    # 85 s of 129 s of work.
    assert found.slow_share_ratio == Decimal("0.659")


def test_its_brakes_are_found_from_structure():
    entry = {"exercise": "rowing-machine", "duration_s": 120}
    assert brakes(block("max_rounds", *ROUNDS, minutes=12, entry=entry)) == {
        "slow_movement",
        "pre_fatigue_entry",
        "mixed_loading",
    }


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        (block("interval", slot("A1", "sit-up"), rounds=8, work_s=40, off_s=20), "work_rest"),
        (block("every_minute", slot("A1", "sit-up", {"reps_low": 15}), minutes=10), "work_rest"),
        (block("rounds_for_time", slot("A1", "sit-up", {"reps_low": 15}, rest_s=30), rounds=10), "work_rest"),
        (block("max_rounds", slot("A1", "sit-up", {"reps_low": 5, "tempo": "9-3-3-0"}), minutes=10), "slow_movement"),
        (block("max_rounds", slot("A1", "sit-up", {"reps_low": 9, "rpe": 6}), minutes=10), "written_cap"),
        (block("max_rounds", slot("A1", "sit-up", {"reps_low": 9}, notes="Keep 70 %HR"), minutes=10), "written_cap"),
    ],
)
def test_each_brake_is_found_alone(written, kind):
    assert brakes(written) == {kind}
    assert "no_brake" not in codes(written)


@pytest.mark.parametrize(
    "written",
    [
        block("max_rounds", slot("A1", "sit-up", {"reps_low": 15}), minutes=10),
        block("interval", slot("A1", "sit-up"), rounds=20, work_s=30, off_s=0),
        # An effort of RPE 9 caps nothing, and 59 s of rowing tire nobody.
        block("max_rounds", slot("A1", "sit-up", {"reps_low": 15, "rpe": 9}), minutes=10),
        block(
            "max_rounds",
            slot("A1", "sit-up", {"reps_low": 15}),
            minutes=10,
            entry={"exercise": "rowing-machine", "duration_s": 59},
        ),
        block("every_minute", slot("A1", "sit-up", {"reps_low": 30}), minutes=10),
    ],
)
def test_a_long_block_without_a_brake_is_a_warning(written):
    (finding,) = [finding for finding in analysed(written).findings if finding.code == "no_brake"]
    assert (finding.severity, finding.bound, finding.unit) == ("warning", 6, "min")
    assert finding.pointer == "#/blocks/0"


@pytest.mark.parametrize(
    "written",
    [
        block("max_rounds", slot("A1", "sit-up", {"reps_low": 15}), minutes=6),
        block("steady", slot("A1", "rowing-machine"), minutes=40),
    ],
)
def test_short_and_steady_blocks_need_no_brake(written):
    assert "no_brake" not in codes(written)


def test_a_complex_movement_under_fatigue_is_a_warning_at_its_place():
    (finding,) = [
        finding
        for finding in analysed(block("max_rounds", *ROUNDS, minutes=12)).findings
        if finding.code == "complex_when_tired"
    ]
    assert finding.severity == "warning"
    assert finding.pointer == "#/blocks/0/slots/0/exercise"


def test_a_complex_movement_with_rests_that_restore_is_not_under_fatigue():
    get_up = slot("A1", "get-up")
    assert "complex_when_tired" not in codes(block("interval", get_up, rounds=6, work_s=20, off_s=60))
    assert "complex_when_tired" in codes(block("interval", get_up, rounds=8, work_s=40, off_s=20))


def test_safe_tired_is_told_apart_from_brakes():
    simple = piece(block("max_rounds", slot("A1", "sit-up", {"reps_low": 15}), minutes=10))
    assert (simple.safe_tired, simple.brakes) == (True, ())
    assert piece(block("max_rounds", *ROUNDS, minutes=12)).safe_tired is False


def test_near_maximal_intervals_are_held_against_the_table():
    written = block("interval", slot("A1", "sit-up", {"rpe": 10, "reps_low": 10}), rounds=8, work_s=20, off_s=10)
    (found,) = piece(written).work_rest
    assert (found.row.system, found.verdict) == ("fast_glycolysis", "less")
    assert (found.published_low_s, found.published_high_s) == (60, 100)
    assert "short_interval_rest" in codes(written)


def test_work_that_is_not_said_to_be_near_maximal_is_given_no_row():
    (found,) = piece(block("interval", slot("A1", "sit-up"), rounds=8, work_s=20, off_s=10)).work_rest
    assert (found.row, found.verdict, found.rest_ratio) == (None, None, Decimal("0.50"))
    assert "near-maximal work only" in found.reason


def test_rounds_for_time_give_seconds_a_round_in_both_readings():
    found = piece(block("rounds_for_time", slot("A1", "swing", {"reps_low": 10, "reps_high": 15}, rest_s=30), rounds=4))
    assert (found.round_low_s, found.round_high_s) == (50, 60)
    assert (found.rounds_low, found.rounds_high) == (4, 4)


def test_a_cap_cuts_the_rounds():
    written = block("rounds_for_time", slot("A1", "swing", {"reps_low": 10, "reps_high": 15}), rounds=9, cap_min=4)
    found = piece(written)
    # 240 s hold nine rounds of 20 s, and eight of 30 s.
    assert (found.rounds_low, found.rounds_high) == (8, 9)


def test_a_rowing_piece_is_told_with_the_pace_it_was_reckoned_at():
    written = block("rounds_for_time", slot("A1", "rowing-machine", {"distance_m": 500}, rest_s=60), rounds=3)
    (row,) = piece(written).rowing
    # 0.27 s a metre: a split of 2:15; 2.80 / 0.27^3 = 142.25 W.
    assert (row.split_s, row.power_w) == (Decimal("135.00"), Decimal("142.25"))


def test_strength_work_is_no_conditioning():
    assert analysed(block("straight", slot("A1", "curl", {"count": 3, "reps_low": 10}))).conditioning == ()
    circuit = [slot(key, "curl", {"reps_low": 10}, goal=goal) for key, goal in (("A1", "size"), ("A2", "size"))]
    assert analysed(block("circuit", *circuit, rounds=3)).conditioning == ()


def test_a_circuit_meant_for_conditioning_is_read_as_such():
    slots = [
        slot(key, name, {"reps_low": 12}, goal="conditioning") for key, name in (("A1", "sit-up"), ("A2", "swing"))
    ]
    found = piece(block("circuit", *slots, rounds=3))
    # 24 s, a rest of 15 s, 24 s, 15 s; both on the floor.
    assert (found.rounds_high, found.round_high_s) == (3, 78)


def test_unequal_rounds_give_the_seconds_of_the_shortest_and_the_longest():
    falling = [{"reps_low": reps} for reps in (21, 15, 9)]
    found = piece(block("rounds_for_time", slot("A1", "swing", *falling, rest_s=30), rounds=3))
    # 2 s a swing: 9 x 2 + 30 and 21 x 2 + 30.
    assert (found.rounds_low, found.rounds_high) == (3, 3)
    assert (found.round_low_s, found.round_high_s) == (48, 72)


def test_an_interval_of_its_own_is_the_round_and_leaves_its_rest():
    found = piece(block("every_minute", slot("A1", "swing", {"reps_low": 10}), minutes=12, every_s=120))
    assert (found.rounds_high, found.round_high_s) == (6, 120)
    assert [brake.detail for brake in found.brakes] == ["Each interval of 120 s leaves 100 s of rest or more."]
    (work_rest,) = found.work_rest
    assert (work_rest.work_s, work_rest.rest_s) == (20, 100)


def test_work_longer_than_its_interval_is_told():
    written = block("every_minute", slot("A1", "swing", {"reps_low": 30}), rounds=6, every_s=45)
    (overrun,) = [finding for finding in analysed(written).findings if finding.code == "minute_overrun"]
    assert (overrun.figure, overrun.bound) == (60, 45)
    assert "interval of 45 s" in overrun.message


def test_a_rest_between_rounds_is_a_brake_and_part_of_the_round():
    found = piece(block("rounds_for_time", slot("A1", "swing", {"reps_low": 10}), rounds=4, rest_between_rounds_s=60))
    assert found.round_high_s == 80
    assert [brake.kind for brake in found.brakes] == ["work_rest"]
