import copy
from typing import Any

import pytest

from programs.prescription.document import (
    DocumentError,
    decode_session,
    decode_version,
    encode_session,
    encode_version,
)
from tests.programs.prescription.cast import block, slot

DAY: dict[str, Any] = {
    "day_number": 1,
    "template_key": "lower-a",
    "title": "Lower A",
    "cap_min": None,
    "blocks": [
        block("straight", slot("A1", "back-squat", {"count": 4, "reps_low": 6, "reps_high": 8, "tempo": "41X1"}))
    ],
}
VERSION: dict[str, Any] = {"weeks": [{"week_number": 1, "deload": False, "days": [DAY]}]}

EVERYTHING = {
    "template_key": "all-kinds",
    "title": "Every kind",
    "cap_min": 60,
    "blocks": [
        block(
            "straight",
            slot(
                "A1",
                "back-squat",
                {"kind": "ramp", "reps_low": 3, "rpe": "8"},
                {"count": 3, "reps_low": 5, "load": {"kind": "relative_to_top", "pct": -10}},
                goal="strength",
                rest_s=180,
                notes="Belt from the second set.",
            ),
            label="A",
        ),
        block(
            "paired",
            slot("B1", "bench-press", {"count": 3, "reps_low": 5, "load": {"kind": "absolute", "load_lb": 185.5}}),
            slot("B2", "pull-up", {"count": 3, "to_limit": True, "load": {"kind": "bodyweight"}}),
            label="B",
            cap_min=20,
        ),
        block(
            "circuit",
            slot("C1", "curl", {"reps_low": 12, "in_reserve": 1.5, "load": {"kind": "same_as", "slot_key": "B1"}}),
            slot("C2", "split-squat", {"reps_low": 10, "load": {"kind": "band", "text": "red"}}, per_side=True),
            rounds=3,
        ),
        block("interval", slot("D1", "rowing-machine"), rounds=8, work_s=30, off_s=90),
        block("rounds_for_time", slot("E1", "curl", {"reps_low": 10}), rounds=3, cap_min=10),
        block(
            "max_rounds",
            slot("F1", "get-up", {"reps_low": 2}, per_side=True),
            minutes=12,
            entry={"exercise": "rowing-machine", "distance_m": "500"},
        ),
        block("every_minute", slot("G1", "curl", {"reps_low": 8}), minutes=6),
        block("every_minute", slot("G2", "curl", {"reps_low": 8}), minutes=6, every_s=90),
        block(
            "rounds_for_time",
            slot("G3", "curl", *({"reps_low": reps} for reps in (21, 15, 9))),
            rounds=3,
            rest_between_rounds_s=60,
        ),
        block("steady", slot("H1", "rowing-machine"), minutes=20),
        block(
            "straight",
            slot(
                "I1",
                "curl",
                {
                    "kind": "drop",
                    "segments": [{"reps": 12}, {"to_limit": True, "load_change_pct": -20, "rest_before_s": 5}],
                    "load": {"kind": "percent", "of": "training_max", "pct": 72.5},
                },
                {"kind": "work", "duration_s": 30},
                {"kind": "work", "distance_m": 40.5},
                {"kind": "work", "calories_kcal": 12},
            ),
        ),
    ],
}


def faults_of(decode, data):
    with pytest.raises(DocumentError) as refusal:
        decode(data)
    return [(fault.pointer, fault.code, fault.message) for fault in refusal.value.faults]


def test_a_session_of_every_kind_comes_back_equal_from_its_own_document():
    session = decode_session(EVERYTHING)
    assert len(session.blocks) == 11
    assert decode_session(encode_session(session)) == session


def test_a_version_comes_back_equal_from_its_own_document():
    content = decode_version(VERSION)
    assert encode_version(content)["weeks"][0]["days"][0]["title"] == "Lower A"
    assert decode_version(encode_version(content)) == content


def test_a_draft_may_have_no_weeks_yet():
    assert decode_version({"weeks": []}).weeks == ()


def test_a_load_keeps_the_unit_it_was_written_in():
    encoded = encode_session(decode_session(EVERYTHING))
    assert encoded["blocks"][1]["slots"][0]["sets"][0]["load"] == {"kind": "absolute", "load_lb": "185.5"}


SET = "#/blocks/0/slots/0/sets/0"
SET_FAULTS = [
    ({}, SET, "no_measure"),
    ({"reps_low": 8, "reps_high": 6}, f"{SET}/reps_high", "reps_order"),
    ({"reps_high": 6}, f"{SET}/reps_low", "required"),
    ({"reps_low": 8, "duration_s": 30}, SET, "one_measure"),
    ({"duration_s": 30, "tempo": "3010"}, f"{SET}/tempo", "tempo_without_reps"),
    ({"reps_low": 8, "tempo": "301"}, f"{SET}/tempo", "tempo"),
    ({"reps_low": 8, "tempo": 3010}, f"{SET}/tempo", "wrong_type"),
    ({"reps_low": 8, "rpe": 8, "in_reserve": 2}, SET, "one_effort"),
    ({"reps_low": 8, "rpe": 8.3}, f"{SET}/rpe", "out_of_range"),
    ({"reps_low": 8, "rpe": 11}, f"{SET}/rpe", "out_of_range"),
    ({"to_limit": True, "in_reserve": 2}, SET, "effort_at_limit"),
    ({"reps_low": True}, f"{SET}/reps_low", "wrong_type"),
    ({"reps_low": "8"}, f"{SET}/reps_low", "wrong_type"),
    ({"reps_low": 0}, f"{SET}/reps_low", "out_of_range"),
    ({"reps_low": 8, "count": 21}, f"{SET}/count", "out_of_range"),
    ({"reps_low": 8, "kind": "heavy"}, f"{SET}/kind", "unknown_choice"),
    ({"segments": [{"reps": 2}]}, f"{SET}/segments", "segment_count"),
    ({"segments": [{"reps": 2}, {}]}, f"{SET}/segments/1", "no_measure"),
    ({"segments": [{"reps": 2, "rest_before_s": 5}, {"reps": 2}]}, f"{SET}/segments/0", "first_segment"),
    (
        {"segments": [{"reps": 2}, {"reps": 2}], "to_limit": True},
        f"{SET}/to_limit",
        "to_limit_beside_segments",
    ),
    ({"reps_low": 5, "load": {"kind": "absolute"}}, f"{SET}/load", "one_unit"),
    ({"reps_low": 5, "load": {"kind": "absolute", "load_kg": 80, "load_lb": 176}}, f"{SET}/load", "one_unit"),
    ({"reps_low": 5, "load": {"kind": "absolute", "load_kg": "heavy"}}, f"{SET}/load/load_kg", "wrong_type"),
    ({"reps_low": 5, "load": {"kind": "absolute", "load_kg": float("nan")}}, f"{SET}/load/load_kg", "wrong_type"),
    ({"reps_low": 5, "load": {"kind": "absolute", "load_kg": 1001}}, f"{SET}/load/load_kg", "out_of_range"),
    ({"reps_low": 5, "load": {"kind": "bricks"}}, f"{SET}/load/kind", "unknown_choice"),
    ({"reps_low": 5, "load": {}}, f"{SET}/load/kind", "unknown_choice"),
    ({"reps_low": 5, "load": {"kind": "relative_to_top", "pct": -10}}, f"{SET}/load", "no_top_set"),
    ({"reps_low": 5, "load": {"kind": "same_as", "slot_key": "A9"}}, f"{SET}/load/slot_key", "unknown_slot"),
    ({"reps_low": 5, "load": {"kind": "same_as", "slot_key": "A1"}}, f"{SET}/load/slot_key", "unknown_slot"),
]


@pytest.mark.parametrize(("group", "pointer", "code"), SET_FAULTS)
def test_a_set_that_cannot_be_performed_is_refused_at_its_place(group, pointer, code):
    data = {"blocks": [block("straight", slot("A1", "back-squat", group))]}
    assert [fault[:2] for fault in faults_of(decode_session, data)] == [(pointer, code)]


ONE = slot("A1", "curl", {"reps_low": 8})
BLOCK_FAULTS = [
    (block("paired", ONE), "#/blocks/0/slots", "slot_count"),
    (
        block("paired", *(slot(f"A{n}", "curl", {"reps_low": 8}) for n in range(5))),
        "#/blocks/0/slots",
        "slot_count",
    ),
    (block("straight", ONE, slot("A2", "curl", {"reps_low": 8})), "#/blocks/0/slots", "slot_count"),
    (block("straight"), "#/blocks/0/slots", "too_few"),
    (block("straight", slot("A1", "curl")), "#/blocks/0/slots/0/sets", "no_sets"),
    (block("straight", ONE, rounds=3), "#/blocks/0/rounds", "field_not_used"),
    (block("interval", slot("A1", "curl"), rounds=4, off_s=30), "#/blocks/0/work_s", "required"),
    (block("max_rounds", ONE), "#/blocks/0/minutes", "required"),
    (block("rounds_for_time", ONE), "#/blocks/0/rounds", "required"),
    (block("every_minute", ONE), "#/blocks/0", "minutes_or_rounds"),
    (block("every_minute", ONE, minutes=6, rounds=6), "#/blocks/0", "minutes_or_rounds"),
    (block("every_minute", ONE, minutes=5, every_s=90), "#/blocks/0/minutes", "broken_interval"),
    (block("every_minute", ONE, minutes=5, every_s=5), "#/blocks/0/every_s", "out_of_range"),
    (block("circuit", ONE, slot("A2", "curl", {"reps_low": 8}), every_s=90), "#/blocks/0/every_s", "field_not_used"),
    (block("straight", ONE, rest_between_rounds_s=90), "#/blocks/0/rest_between_rounds_s", "field_not_used"),
    (
        block("rounds_for_time", slot("A1", "curl", {"reps_low": 21}, {"reps_low": 15}), rounds=3),
        "#/blocks/0/slots/0/sets",
        "sets_in_rounds",
    ),
    (
        block("interval", slot("A1", "curl", {"reps_low": 21}, {"reps_low": 15}), rounds=2, work_s=20, off_s=20),
        "#/blocks/0/slots/0/sets",
        "sets_in_rounds",
    ),
    (
        block("max_rounds", slot("A1", "curl", {"count": 2, "reps_low": 8}), minutes=6),
        "#/blocks/0/slots/0/sets",
        "sets_in_rounds",
    ),
    (
        block("max_rounds", ONE, minutes=6, entry={"exercise": "rowing-machine"}),
        "#/blocks/0/entry",
        "one_measure",
    ),
    (block("steady", slot("A1", "curl")), "#/blocks/0/slots/0/sets", "no_sets"),
    (block("superset", ONE), "#/blocks/0/kind", "unknown_choice"),
    (
        block("paired", ONE, slot("A1", "pull-up", {"reps_low": 5})),
        "#/blocks/0/slots/1/slot_key",
        "slot_key_repeated",
    ),
    (
        block("rounds_for_time", *(slot(f"A{n}", "curl", {"reps_low": 8}) for n in range(5)), rounds=100),
        "#/blocks",
        "too_many_sets",
    ),
]


@pytest.mark.parametrize(("written", "pointer", "code"), BLOCK_FAULTS)
def test_a_block_that_cannot_be_performed_is_refused_at_its_place(written, pointer, code):
    found = faults_of(decode_session, {"blocks": [written]})
    assert [fault[:2] for fault in found] == [(pointer, code)]


def test_every_fault_is_told_at_once_whether_of_shape_or_of_structure():
    data = copy.deepcopy(VERSION)
    day = data["weeks"][0]["days"][0]
    day["template_key"] = "Lower A"
    day["blocks"][0]["slots"][0]["sets"][0] = {"reps_low": 8, "reps_high": 6, "tempo": "301", "rpe": "hard"}
    data["weeks"][0]["days"].append(copy.deepcopy(DAY))
    data["weeks"].append({"week_number": 3})
    assert {fault[:2] for fault in faults_of(decode_version, data)} == {
        ("#/weeks/0/days/0/template_key", "wrong_form"),
        ("#/weeks/0/days/0/blocks/0/slots/0/sets/0/tempo", "tempo"),
        ("#/weeks/0/days/0/blocks/0/slots/0/sets/0/rpe", "wrong_type"),
        ("#/weeks/0/days/0/blocks/0/slots/0/sets/0/reps_high", "reps_order"),
        ("#/weeks/0/days/1/day_number", "day_number_repeated"),
        ("#/weeks/1/week_number", "week_number"),
    }


NOTHING_NEAR = (
    "zzz is not a field here; take it out. The fields are calories_kcal, count, distance_m, duration_s, "
    "in_reserve, kind, load, reps_high, reps_low, rpe, segments, tempo, to_limit."
)


@pytest.mark.parametrize(
    ("where", "field", "sentence"),
    [
        ("set", "temp", "temp is not a field here; the nearest name is tempo."),
        ("slot", "rest", "rest is not a field here; the nearest name is rest_s."),
        (
            "load",
            "load_kgs",
            "load_kgs is not a field here; the nearest name is load_kg.",
        ),
        ("set", "zzz", NOTHING_NEAR),
    ],
)
def test_an_unknown_field_is_refused_with_the_nearest_name(where, field, sentence):
    group = {"reps_low": 5, "load": {"kind": "absolute", "load_kg": 80}}
    written = slot("A1", "back-squat", group)
    parts: dict[str, Any] = {"set": group, "slot": written, "load": group["load"]}
    parts[where][field] = 1
    found = faults_of(decode_session, {"blocks": [block("straight", written)]})
    assert [(code, message) for _, code, message in found] == [("unknown_field", sentence)]


@pytest.mark.parametrize("data", [None, [], 3, "text"])
def test_what_is_no_object_is_refused_as_a_whole(data):
    assert faults_of(decode_version, data) == [("#", "wrong_type", "Send an object.")]


def test_a_pointer_escapes_what_a_field_name_may_hold():
    found = faults_of(decode_session, {"blocks": [block("straight", ONE)], "a/b~c d": 1})
    assert found[0][0] == "#/a~1b~0c%20d"


@pytest.mark.parametrize("text", ["with \x00 inside", "\ud800"])
def test_text_that_no_database_can_hold_is_refused(text):
    data = {"blocks": [block("straight", {**ONE, "notes": text})]}
    assert [fault[:2] for fault in faults_of(decode_session, data)] == [("#/blocks/0/slots/0/notes", "wrong_type")]


def test_more_weeks_than_a_year_are_refused():
    weeks = [{"week_number": number, "days": []} for number in range(1, 54)]
    assert ("#/weeks", "too_many", "weeks takes at most 52.") in faults_of(decode_version, {"weeks": weeks})
