"""The words of a card."""

from typing import Any

import pytest

from programs.documents.card_words import amount, block_words, effort_words, rest_words, seconds_words
from programs.prescription.document import decode_session
from programs.prescription.structure import Block, SetGroup

SLOT = {"slot_key": "A1", "exercise": "back-squat", "sets": [{"reps_low": 5}]}


def group(**fields: Any) -> SetGroup:
    return block(slots=[SLOT | {"sets": [fields]}]).slots[0].sets[0]


def block(**fields: Any) -> Block:
    return decode_session({"blocks": [{"kind": "straight", "slots": [SLOT]} | fields]}).blocks[0]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (45, "45 s"), (60, "1 min"), (75, "75 s"), (90, "90 s"), (120, "2 min"), (150, "2 min 30 s")],
)
def test_a_length_of_time_is_said_as_people_say_it(seconds: int, words: str) -> None:
    assert seconds_words(seconds) == words


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"reps_low": 5}, "5 repetitions"),
        ({"reps_low": 6, "reps_high": 8}, "6–8 repetitions"),  # noqa: RUF001 -- a range
        ({"reps_low": 5, "to_limit": True}, "5 or more repetitions"),
        ({"to_limit": True}, "max repetitions"),
        ({"duration_s": 90}, "90 s"),
        ({"distance_m": "30.0"}, "30 m"),
        ({"calories_kcal": 12}, "12 kcal"),
        (
            {"kind": "cluster", "segments": [{"reps": 2}, {"reps": 2, "rest_before_s": 20}]},
            "2 + 2 repetitions, 20 s rest inside",
        ),
        (
            {"kind": "drop", "segments": [{"reps": 8}, {"to_limit": True, "load_change_pct": "-20"}]},
            "8 + max repetitions, load from the first: 20 % less",
        ),
    ],
)
def test_a_set_says_how_much(fields: dict[str, Any], words: str) -> None:
    assert str(amount(group(**fields), per_side=False)) == words


def test_a_set_of_one_side_at_a_time_says_so() -> None:
    assert str(amount(group(reps_low=8), per_side=True)) == "8 repetitions each side"
    assert str(amount(group(duration_s=30), per_side=True)) == "30 s each side"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"reps_low": 5}, ""),
        ({"reps_low": 5, "rpe": "8.5"}, "RPE 8.5, about 1.5 left"),
        ({"reps_low": 5, "rpe": 10}, "RPE 10, none left"),
        ({"reps_low": 5, "rpe": 4}, "RPE 4, easy"),
        ({"reps_low": 5, "in_reserve": 2}, "about 2 left"),
        ({"duration_s": 600, "rpe": 4}, "RPE 4"),
        ({"reps_low": 5, "to_limit": True}, "until you can do no more in good form"),
    ],
)
def test_effort_is_said_as_repetitions_left(fields: dict[str, Any], words: str) -> None:
    assert effort_words(group(**fields)) == words


def test_rests_say_where_the_client_goes_next() -> None:
    pair = block(kind="paired", slots=[SLOT, SLOT | {"slot_key": "A2"}])
    assert rest_words(pair, 0, rest_s=90, assumed=False) == "rest 90 s, then on to A2"
    assert rest_words(pair, 1, rest_s=90, assumed=True) == "rest 90 s or so, then back to A1"
    assert rest_words(pair, 0, rest_s=0, assumed=False) == "straight on to A2"


def test_one_set_has_no_rest_to_tell() -> None:
    assert rest_words(block(), 0, rest_s=90, assumed=False) == ""
    several = block(slots=[SLOT | {"sets": [{"count": 3, "reps_low": 5}]}])
    assert rest_words(several, 0, rest_s=180, assumed=False) == "rest 3 min between sets"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, ""),
        ({"cap_min": 15}, "Stopping at 15 min"),
        ({"kind": "interval", "rounds": 8, "work_s": 40, "off_s": 20}, "8 rounds: 40 s on, 20 s off"),
        (
            {"kind": "rounds_for_time", "rounds": 5, "cap_min": 20},
            "5 rounds, as fast as your form stays good, stopping at 20 min",
        ),
        ({"kind": "max_rounds", "minutes": 12}, "As many rounds as your form stays good for, in 12 min"),
        ({"kind": "every_minute", "rounds": 10}, "A set at the start of every minute, 10 min"),
        ({"kind": "steady", "minutes": 30}, "30 min at one even effort"),
    ],
)
def test_a_block_says_how_it_is_done(fields: dict[str, Any], words: str) -> None:
    assert block_words(block(**fields)) == words


def test_a_clock_of_its_own_and_a_rest_between_rounds_are_said() -> None:
    assert block_words(block(kind="every_minute", every_s=90, minutes=12)) == "A set every 90 s, 8 times"
    assert block_words(block(kind="every_minute", every_s=60, rounds=5)) == "A set at the start of every minute, 5 min"
    rounds = block(kind="rounds_for_time", rounds=3, rest_between_rounds_s=120, cap_min=20)
    assert block_words(rounds) == (
        "3 rounds, as fast as your form stays good, rest 2 min between rounds, stopping at 20 min"
    )
