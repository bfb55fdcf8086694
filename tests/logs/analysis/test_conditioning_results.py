"""Rounds, times, splits and power over time."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from logs.analysis.conditioning_blocks import Effort, asked_blocks
from logs.analysis.conditioning_results import block_result, compare_results
from logs.analysis.rowing_results import compare_pieces, piece_session, split_words

DAY = date(2031, 3, 4)


def block(kind="max_rounds", **more):
    slots = [
        {"slot_key": "B1", "exercise": "get-up", "sets": [{"count": 1, "reps_low": 2}]},
        {"slot_key": "B2", "exercise": "sit-up", "sets": [{"count": 1, "reps_low": 12}]},
    ]
    document = {
        "template_key": "whole",
        "blocks": [
            {"kind": "straight", "slots": [{"slot_key": "A", "exercise": "x", "sets": []}]},
            {"kind": kind, "label": "B", "slots": slots, **more},
        ],
    }
    (found,) = asked_blocks(document)
    return found


def effort(slot="B1", number=1, **more):
    numbers = {name: Decimal(value) if name != "reps" else value for name, value in more.items()}
    return Effort(exercise="x", slot_key=slot, set_number=number, **numbers)


def rounds_of(count, extra=0):
    return [effort("B1", number, reps=2) for number in range(1, count + extra + 1)] + [
        effort("B2", number, reps=12) for number in range(1, count + 1)
    ]


def result(asked, efforts, weeks=0, *, deload=False):
    return block_result(asked, efforts, DAY + timedelta(weeks=weeks), deload=deload)


def test_strength_blocks_are_left_out_and_a_block_keeps_what_it_asks():
    found = block(minutes=8)
    assert (found.block_number, found.kind, found.minutes) == (2, "max_rounds", 8)
    assert [(slot.slot_key, slot.asked) for slot in found.slots] == [("B1", "1 x 2"), ("B2", "1 x 12")]
    assert block(minutes=8) == block(minutes=8)
    assert block(minutes=8) != block(minutes=10)


def test_rounds_logged_go_before_rounds_counted_off_the_sets():
    asked = block(minutes=8)
    counted = result(asked, rounds_of(4, extra=1))
    assert (counted.rounds, counted.rounds_from, counted.repetitions) == (4, "counted_sets", 58)
    logged = result(asked, [*rounds_of(4), effort(rounds="7.5")])
    assert (logged.rounds, logged.rounds_from) == (Decimal("7.5"), "logged")
    assert result(asked, [effort("A", 1, reps=5)]) is None


def test_rounds_for_time_take_their_time_from_the_row_with_the_rounds():
    asked = block("rounds_for_time", rounds=5)
    whole = result(asked, [effort(rounds="5", duration_s="612")])
    assert (whole.time_s, whole.finished, whole.missing) == (612, True, "")
    cut = result(asked, [effort(rounds="4", duration_s="720")])
    assert (cut.finished, cut.time_s) == (False, 720)
    untimed = result(asked, [effort("B1", number, reps=2, duration_s="9") for number in range(1, 6)])
    assert untimed.time_s is None
    assert "not known" in untimed.missing


def test_results_of_the_same_block_are_compared_and_deloads_are_not():
    asked = block(minutes=8)
    results = [
        result(asked, rounds_of(6)),
        result(asked, rounds_of(2), 1, deload=True),
        result(asked, rounds_of(7), 2),
        result(asked, rounds_of(8), 3),
    ]
    found = compare_results(asked, results)
    assert (found.latest, found.earlier, found.results) == (8, Decimal("6.5"), 3)
    assert found.sentence == "Same block, 8 against 6.5 rounds; 3 results compared."
    assert compare_results(asked, results[:1]).results == 0
    assert "deload" in compare_results(asked, results[:2]).sentence


def test_only_finished_rounds_for_time_are_compared_by_time():
    asked = block("rounds_for_time", rounds=5)
    cut = result(asked, [effort(rounds="3", duration_s="600")])
    whole = [
        result(asked, [effort(rounds="5", duration_s=seconds)], week) for week, seconds in ((1, "700"), (2, "630"))
    ]
    found = compare_results(asked, [cut, *whole])
    assert (found.measure, found.latest, found.earlier, found.change_ratio) == ("time_s", 630, 700, Decimal("-0.1"))
    assert compare_results(asked, [*whole, cut]).measure is None


def piece(*pairs, weeks=0, rowing=True, deload=False, **more):
    efforts = [effort(distance_m=metres, duration_s=seconds, **more) for metres, seconds in pairs]
    return piece_session(efforts, DAY + timedelta(weeks=weeks), rowing=rowing, deload=deload)


def test_a_rowing_piece_has_the_split_and_power_of_its_pace():
    # 500 m in 2:00 is 202.55 W (trade fact W = 2.80/p^3); 2,000 m in 8:00 is the same pace.
    found = piece(("2000", "480"))
    assert (found.split_s, found.power_w) == (120, Decimal("202.55"))
    # 1:45 and 2:15 average to 2:00, and take more power than it: (302.34 x 105 + 142.25 x 135) / 240.
    uneven = piece(("500", "105"), ("500", "135"))
    assert uneven.split_s == 120
    assert uneven.power_w == pytest.approx(Decimal("212.289375"), abs=Decimal("0.01"))
    assert piece(("2000", "480"), rowing=False).power_w is None


def test_without_metres_and_seconds_calories_are_the_rate():
    fan = piece_session([effort(calories_kcal="30", duration_s="120")], DAY, rowing=False, deload=False)
    assert (fan.kcal_per_min, fan.metres_per_min, fan.missing) == (15, None, "")
    untimed = piece_session([effort(distance_m="500")], DAY, rowing=True, deload=False)
    assert (untimed.split_s, untimed.metres, untimed.missing) == (None, 500, "seconds_not_logged")


def test_a_piece_rowed_no_harder_is_told_as_much_power():
    found = compare_pieces([piece(("2000", "480")), piece(("2000", "480"), weeks=1)])
    assert found.sentence == "Same piece, split 2:00.0 against 2:00.0, about as much power; 2 sessions compared."
    walked = [piece(("3000", "1800"), rowing=False, weeks=week) for week in range(2)]
    assert compare_pieces(walked).sentence == "Same piece, about as many metres a minute; 2 sessions compared."


def test_the_same_piece_again_is_told_by_split_and_power():
    found = compare_pieces([piece(("2000", "500")), piece(("1000", "230"), weeks=1), piece(("2000", "480"), weeks=2)])
    assert (found.measure, found.sessions, found.earlier) == ("power_w", 2, Decimal("179.2"))
    assert found.sentence == "Same piece, split 2:00.0 against 2:05.0, 13 % more power; 2 sessions compared."
    assert compare_pieces([piece(("2000", "500")), piece(("1000", "230"), weeks=1)]).sessions == 0
    assert compare_pieces([piece(("2000", "500")), piece(("2000", "480"), deload=True)]).sessions == 0
    untimed = piece_session([effort(distance_m="500")], DAY, rowing=True, deload=False)
    assert compare_pieces([untimed]).measure is None


@pytest.mark.parametrize(("seconds", "words"), [("105", "1:45.0"), ("119.96", "2:00.0"), ("59.94", "0:59.9")])
def test_a_split_is_said_as_rowers_say_it(seconds, words):
    assert split_words(Decimal(seconds)) == words
