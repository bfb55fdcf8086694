from decimal import Decimal

import pytest

from programs.prescription.planned_sets import planned_sets, tempo_of_seconds, tempo_seconds
from programs.prescription.tempo import parse_tempo


def session(*slots, kind="straight", **block):
    return {"blocks": [{"kind": kind, "slots": list(slots), **block}]}


def slot(*sets, key="A1", per_side=False):
    return {"slot_key": key, "per_side": per_side, "sets": list(sets)}


def test_each_set_has_its_slot_its_tempo_its_repetitions_and_its_load():
    asked = planned_sets(
        session(
            slot(
                {"kind": "warm_up", "reps_low": 8},
                {"count": 2, "reps_low": 5, "reps_high": 6, "tempo": "41X1", "load_kg": "82.5"},
            )
        )
    )
    assert asked.slots == ("A1", "A1", "A1")
    assert asked.figures == ((None, None, None, None, 8, 1), *((4, 1, 1, 1, 5, 1),) * 2)
    assert asked.loads_kg == (None, Decimal("82.5"), Decimal("82.5"))


def test_planned_repetitions_are_the_fewest_of_work_sets_on_both_sides():
    one_sided = slot({"count": 3, "reps_low": 8, "reps_high": 10}, {"kind": "warm_up", "reps_low": 5}, per_side=True)
    assert planned_sets(session(one_sided)).reps == 48


def test_sets_to_the_limit_holds_and_blocks_against_the_clock_plan_no_repetitions():
    to_limit, hold = slot({"to_limit": True}), slot({"duration_s": 30}, key="A2")
    assert planned_sets(session(to_limit, hold)).reps == 0
    assert planned_sets(session(slot({"reps_low": 10}), kind="max_rounds", minutes=12)).reps == 0


def test_a_blocks_rounds_repeat_the_sets_of_each_slot():
    asked = planned_sets(session(slot({"reps_low": 6}), slot({"reps_low": 9}, key="A2"), kind="circuit", rounds=3))
    assert asked.slots == ("A1",) * 3 + ("A2",) * 3
    assert asked.reps == 45


def test_segments_ask_for_their_sum_and_one_to_the_limit_for_none():
    cluster = {"segments": [{"reps": 2}, {"reps": 2}, {"reps": 1}]}
    open_end = {"segments": [{"reps": 12}, {"to_limit": True}]}
    assert [figures[4] for figures in planned_sets(session(slot(cluster, open_end))).figures] == [5, None]


@pytest.mark.parametrize("text", ["41X1", "30A2", "2-0-10-0", "0000"])
def test_a_tempo_comes_back_from_its_seconds_with_what_it_counts_for(text):
    tempo = parse_tempo(text)
    again = tempo_of_seconds((*tempo_seconds(tempo), 5, 1))
    assert again is not None
    for end in ("none", "lengthened", "shortened"):
        assert (again.repetition_s(), again.working_s(end)) == (tempo.repetition_s(), tempo.working_s(end))


def test_no_tempo_has_no_seconds():
    assert tempo_of_seconds((None, None, None, None, 5, 1)) is None
