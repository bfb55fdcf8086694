"""The card of a session, as values."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from coaching.screening.red_flags import RED_FLAGS
from programs.documents.card_dates import length_words, place_words, when_words
from programs.documents.card_loads import CardLoad, bar_words
from programs.documents.session_card import session_card
from programs.prescription.loads import ReferenceLoad
from tests.programs.cards.card_cast import card, card_facts, full_session, kilograms, straight


def load_of(load: Any, *, exercise: str = "back-squat", unit: Any = "kg", **options: Any) -> CardLoad:
    made = card(straight({"reps_low": 5, "load": load}, exercise=exercise), unit=unit, **options)
    return made.blocks[0].exercises[0].sets[0].load


def test_tempo_is_spelled_out_in_the_order_in_which_the_lift_is_performed() -> None:
    squat, pull_up = (
        card(straight({"reps_low": 5, "tempo": "31X2"}, exercise=key)).blocks[0].exercises[0].tempos[0]
        for key in ("back-squat", "pull-up")
    )
    assert squat.performed == "3 s bar down, 1 s in the hole, fast bar up, 2 s standing tall"
    assert pull_up.performed == "fast pull up, 2 s chin over the bar, 3 s lower, 1 s hanging, arms long"


def test_each_tempo_of_an_exercise_is_told_once() -> None:
    groups = [{"reps_low": 5, "tempo": tempo} for tempo in ("20X1", "31X1", "20X1")]
    exercise = card(straight(*groups)).blocks[0].exercises[0]
    assert [tempo.written for tempo in exercise.tempos] == ["20X1", "31X1"]


def test_a_bar_shows_its_plates_for_both_usual_bars() -> None:
    load = load_of(kilograms("102.5"))
    assert load.words == "102.5 kg"
    assert [bar_words(bar) for bar in load.plates] == [
        "20 kg bar, each side 25 + 15 + 1.25",
        "15 kg bar, each side 25 + 15 + 2.5 + 1.25",
    ]


def test_what_no_plates_make_is_said() -> None:
    assert bar_words(load_of(kilograms("101")).plates[0]) == "20 kg bar, each side 25 + 15 (makes 100, nearest below)"
    assert bar_words(load_of(kilograms("20")).plates[0]) == "20 kg bar, empty"


def test_loads_and_plates_are_in_the_clients_unit() -> None:
    load = load_of(kilograms("102.5"), unit="lb")
    assert (load.words, load.origin) == ("225 lb", "102.5 kg, rounded down to 225 lb.")
    assert bar_words(load.plates[0]) == "45 lb bar, each side 45 + 45"


def test_a_client_who_changed_units_sees_the_present_one() -> None:
    facts = card_facts(straight({"reps_low": 5, "load": {"kind": "absolute", "load_lb": "225"}}), unit="lb")
    load = session_card(replace(facts, unit="kg")).blocks[0].exercises[0].sets[0].load
    assert load.words == "102.06 kg"
    # 102.06 = 20 + 2 x 41.03, of which plates make 25 + 15 a side.
    assert bar_words(load.plates[0]) == "20 kg bar, each side 25 + 15 (makes 100, nearest below)"


@pytest.mark.parametrize(
    ("exercise", "load", "words"),
    [
        ("split-squat", kilograms("16"), "16 kg in each hand"),
        ("pull-up", kilograms("10"), "bodyweight + 10 kg"),
        ("pull-up", kilograms("-20"), "20 kg of help"),
        ("pull-up", kilograms("0"), "bodyweight"),
        ("pull-up", {"kind": "bodyweight"}, "bodyweight"),
        ("pull-up", {"kind": "band", "text": "the red one"}, "band: the red one"),
        ("lat-pulldown", kilograms("50"), "stack at 50 kg"),
        ("plank", None, "bodyweight"),
        ("back-squat", None, "load by effort"),
    ],
)
def test_other_loadings_show_the_plain_load(exercise: str, load: Any, words: str) -> None:
    shown = load_of(load, exercise=exercise)
    assert (shown.words, shown.plates) == (words, ())


def test_a_load_that_the_day_decides_says_by_what() -> None:
    back_off = card(*full_session()).blocks[0].exercises[0].sets[2].load
    assert (back_off.words, back_off.origin) == ("found on the day", "-10 % of the day's top set, once it is lifted.")


@pytest.mark.parametrize("exercise", ["trap-bar-deadlift", "landmine-squat"])
def test_a_bar_of_another_kind_shows_no_plates(exercise: str) -> None:
    assert load_of(kilograms("60"), exercise=exercise).plates == ()


def test_a_percentage_says_from_what_and_a_missing_one_what_to_do() -> None:
    tested = {"back-squat": {"tested": ReferenceLoad(kind="tested", load_kg=Decimal(100))}}
    percent = {"kind": "percent", "of": "tested", "pct": "75"}
    known = load_of(percent, references=tested)
    assert (known.words, known.origin) == ("75 kg", "75 % of the tested maximum (100 kg).")
    missing = load_of(percent)
    assert (missing.words, missing.plates) == ("load not known yet", ())
    assert "build to one set" in missing.suggestion


def test_pairs_stand_together_with_their_rests() -> None:
    pair = card(*full_session()).blocks[1]
    assert [exercise.slot_key for exercise in pair.exercises] == ["B1", "B2"]
    assert [exercise.rest for exercise in pair.exercises] == ["rest 75 s, then on to B2", "rest 75 s, then back to B1"]
    assert pair.how == "In turn: one set of each, then again from B1"


def test_an_unsaid_rest_is_marked_as_usual() -> None:
    exercise = card(straight({"count": 3, "reps_low": 5}, goal="strength")).blocks[0].exercises[0]
    assert (exercise.rest_assumed, exercise.rest) == (True, "rest 3 min or so between sets")


def test_building_up_and_the_entry_piece_come_first() -> None:
    entry = {"exercise": "rowing-machine", "distance_m": 500}
    circuit = {"kind": "max_rounds", "minutes": 12, "entry": entry, "slots": straight({"reps_low": 5})["slots"]}
    heavy, rounds = card(
        straight({"count": 3, "reps_low": 3}, goal="strength"),
        circuit | {"slots": [{"slot_key": "B1", "exercise": "pull-up", "sets": [{"reps_low": 5}]}]},
    ).blocks
    assert heavy.first == ("Build up first with a few lighter sets, about 3 min 45 s",)
    assert rounds.first == ("First: 500 m on Rowing machine",)


def test_an_exercise_that_the_catalogue_has_lost_is_still_shown() -> None:
    facts = replace(card_facts(straight({"reps_low": 5, "tempo": "31X1", "load": kilograms("60")})), exercises={})
    exercise = session_card(facts).blocks[0].exercises[0]
    assert (exercise.name, exercise.sets[0].load.words) == ("Back squat", "60 kg")
    assert exercise.tempos[0].performed == ""


def test_every_stop_sign_is_on_the_card_and_none_is_a_diagnosis() -> None:
    made = card(*full_session())
    shown = [sign for group in made.cautions for sign in group.signs]
    assert sorted(shown) == sorted(flag.words for flag in RED_FLAGS.values())
    assert made.cautions[0].urgency == "emergency"
    assert "not a diagnosis" in made.caution


def test_a_card_says_when_and_where_in_the_program() -> None:
    made = card(*full_session(), deload=True)
    assert (when_words(made), place_words(made)) == ("Monday 10 March 2031", "Week 3, day 1, a lighter week")
    loose = card(*full_session(), window_end=date(2031, 3, 16))
    assert when_words(loose) == "Monday 10 March 2031 to Sunday 16 March 2031"
    assert length_words(made) == "about 55 to 56 min"


def test_unequal_rounds_have_a_line_and_a_box_each() -> None:
    falling = {"slot_key": "A1", "exercise": "back-squat", "sets": [{"reps_low": reps} for reps in (21, 15, 9)]}
    every = {"slot_key": "A2", "exercise": "pull-up", "sets": [{"reps_low": 5}]}
    rounds = {"kind": "rounds_for_time", "rounds": 3, "rest_between_rounds_s": 60, "label": "A"}
    made = card(rounds | {"slots": [falling, every]})
    first, second = made.blocks[0].exercises
    assert [(str(one.amount), one.kind_words, one.boxes) for one in first.sets] == [
        ("21 repetitions", "round 1", 1),
        ("15 repetitions", "round 2", 1),
        ("9 repetitions", "round 3", 1),
    ]
    assert [one.boxes for one in second.sets] == [3]
    assert second.rest == "rest 1 min, then back to A1"
