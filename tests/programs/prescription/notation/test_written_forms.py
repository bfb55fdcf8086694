# ruff: noqa: RUF001 - the texts are as coaches write them

"""What coaches write, and what it is read as."""

from decimal import Decimal

import pytest

from programs.prescription.notation import parse_session
from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    PercentLoad,
    RelativeToTopLoad,
    SameAsLoad,
)
from programs.prescription.structure import Segment, SetGroup
from programs.prescription.tempo import parse_tempo


def read(text):
    result = parse_session(text)
    assert result.faults == (), result.faults
    return result.session


def only_slot(text):
    (block,) = read(text).blocks
    (slot,) = block.slots
    return slot


def kg(text):
    return AbsoluteLoad(value=Decimal(text))


SETS = [
    ("4x6-8", SetGroup(count=4, reps_low=6, reps_high=8)),
    ("4 x 6–8", SetGroup(count=4, reps_low=6, reps_high=8)),
    ("4 × 6—8", SetGroup(count=4, reps_low=6, reps_high=8)),
    ("3 sets of 10", SetGroup(count=3, reps_low=10)),
    ("3 sets x 10 reps", SetGroup(count=3, reps_low=10)),
    ("x 20", SetGroup(reps_low=20)),
    (": 4 x 6", SetGroup(count=4, reps_low=6)),
    ("4 x 6 @ 41X1", SetGroup(count=4, reps_low=6, tempo=parse_tempo("41X1"))),
    ("4 x 6 @41x1", SetGroup(count=4, reps_low=6, tempo=parse_tempo("41X1"))),
    ("4 x 6 tempo 4-1-X-1", SetGroup(count=4, reps_low=6, tempo=parse_tempo("41X1"))),
    ("4 x 6 tempo: 10/0/2/0", SetGroup(count=4, reps_low=6, tempo=parse_tempo("10-0-2-0"))),
    ("4 x 6, RPE 8", SetGroup(count=4, reps_low=6, rpe=Decimal(8))),
    ("4 x 6 RPE8.5", SetGroup(count=4, reps_low=6, rpe=Decimal("8.5"))),
    ("4 x 6 RPE 8,5", SetGroup(count=4, reps_low=6, rpe=Decimal("8.5"))),
    ("4 x 6 @ 8", SetGroup(count=4, reps_low=6, rpe=Decimal(8))),
    ("4 x 6, 2 RIR", SetGroup(count=4, reps_low=6, in_reserve=Decimal(2))),
    ("4 x 6 RIR 2", SetGroup(count=4, reps_low=6, in_reserve=Decimal(2))),
    ("4 x 6, 2 reps in reserve", SetGroup(count=4, reps_low=6, in_reserve=Decimal(2))),
    ("4 x 6 @ 75%", SetGroup(count=4, reps_low=6, load=PercentLoad(of="tested", pct=Decimal(75)))),
    ("4 x 6 @ 75% TM", SetGroup(count=4, reps_low=6, load=PercentLoad(of="training_max", pct=Decimal(75)))),
    ("4 x 6, 75% of tested", SetGroup(count=4, reps_low=6, load=PercentLoad(of="tested", pct=Decimal(75)))),
    ("4 x 6, 75% of 1RM", SetGroup(count=4, reps_low=6, load=PercentLoad(of="tested", pct=Decimal(75)))),
    ("4 x 6 @ 77,5% e1RM", SetGroup(count=4, reps_low=6, load=PercentLoad(of="estimated", pct=Decimal("77.5")))),
    ("4 x 6 @ 80 kg", SetGroup(count=4, reps_low=6, load=kg("80"))),
    ("4 x 6 at 80 kg", SetGroup(count=4, reps_low=6, load=kg("80"))),
    ("4 x 6 with 80 kg", SetGroup(count=4, reps_low=6, load=kg("80"))),
    ("4 x 6 w/ 80 kg", SetGroup(count=4, reps_low=6, load=kg("80"))),
    ("4 x 6 at bodyweight", SetGroup(count=4, reps_low=6, load=BodyweightLoad())),
    ("4 x 6 at 41X1", SetGroup(count=4, reps_low=6, tempo=parse_tempo("41X1"))),
    ("4 x 6 at RPE 8", SetGroup(count=4, reps_low=6, rpe=Decimal(8))),
    ("4 x 6 @ 8 RPE", SetGroup(count=4, reps_low=6, rpe=Decimal(8))),
    ("4 x 6 @ 135#", SetGroup(count=4, reps_low=6, load=AbsoluteLoad(value=Decimal(135), unit="lb"))),
    ("4 x 6 x 80kg", SetGroup(count=4, reps_low=6, load=kg("80"))),
    ("80 kg 4 x 6", SetGroup(count=4, reps_low=6, load=kg("80"))),
    ("4 x 6, 82,5 kg", SetGroup(count=4, reps_low=6, load=kg("82.5"))),
    ("4 x 6, 2 x 24 kg", SetGroup(count=4, reps_low=6, load=kg("24"))),
    ("4 x 6 (135 lb)", SetGroup(count=4, reps_low=6, load=AbsoluteLoad(value=Decimal(135), unit="lb"))),
    ("4 x 6, bodyweight", SetGroup(count=4, reps_low=6, load=BodyweightLoad())),
    ("4 x 6 @ BW", SetGroup(count=4, reps_low=6, load=BodyweightLoad())),
    ("4 x 6 @ BW + 10 kg", SetGroup(count=4, reps_low=6, load=kg("10"))),
    ("4 x 6, −20 kg", SetGroup(count=4, reps_low=6, load=kg("-20"))),
    ("4 x 6, band “thick red”", SetGroup(count=4, reps_low=6, load=BandLoad(text="thick red"))),
    ("4 x 6, green band", SetGroup(count=4, reps_low=6, load=BandLoad(text="green"))),
    ("3 x AMRAP", SetGroup(count=3, to_limit=True)),
    ("3 sets to failure", SetGroup(count=3, to_limit=True)),
    ("3 x max reps", SetGroup(count=3, to_limit=True)),
    ("3 x 5+", SetGroup(count=3, reps_low=5, to_limit=True)),
    ("3 x 30s", SetGroup(count=3, duration_s=30)),
    ("3 x 30 s hold", SetGroup(count=3, duration_s=30)),
    ("3 x 0:45", SetGroup(count=3, duration_s=45)),
    ("3 x :30", SetGroup(count=3, duration_s=30)),
    ("3 x 2 min 30 s", SetGroup(count=3, duration_s=150)),
    ("3 x 1'30\"", SetGroup(count=3, duration_s=90)),
    ("4 x 40 m", SetGroup(count=4, distance_m=Decimal(40))),
    ("2 km", SetGroup(distance_m=Decimal(2000))),
    ("4 x 20 yd", SetGroup(count=4, distance_m=Decimal("18.288"))),
    ("3 x 20 cal", SetGroup(count=3, calories_kcal=20)),
    ("warm-up 2 x 5", SetGroup(count=2, kind="warm_up", reps_low=5)),
    ("ramp to 3 @ RPE 8", SetGroup(kind="ramp", reps_low=3, rpe=Decimal(8))),
    ("ramp up to a heavy 3", SetGroup(kind="ramp", reps_low=3)),
    ("2 warm-up sets of 5", SetGroup(count=2, kind="warm_up", reps_low=5)),
    ("1 top set of 3", SetGroup(kind="top", reps_low=3)),
    ("top set: 1 x 3", SetGroup(kind="top", reps_low=3)),
    ("４ｘ６　＠　８０％　ＴＭ", SetGroup(count=4, reps_low=6, load=PercentLoad(of="training_max", pct=Decimal(80)))),
]


@pytest.mark.parametrize(("written", "group"), SETS, ids=[written for written, _ in SETS])
def test_sets_are_read_as_the_trade_means_them(written, group):
    slot = only_slot(f"Bench press {written}")
    assert slot.exercise == "bench-press"
    assert slot.sets == (group,)


SLOTS = [
    ("3 x 10/side", {"per_side": True}),
    ("3 x 10 e/s", {"per_side": True}),
    ("3 x 10 each leg", {"per_side": True}),
    ("3 x 10/10", {"per_side": True}),
    ("3 x 10 per side, rest 60s", {"per_side": True, "rest_s": 60}),
    ("3 x 10 rest 90s", {"rest_s": 90}),
    ("3 x 10, rest 1:30", {"rest_s": 90}),
    ("3 x 10, rest :90", {"rest_s": 90}),
    ("3 x 10, :90", {"rest_s": 90}),
    ("3 x 10 :90", {"rest_s": 90}),
    ("3 x 10, 90s", {"rest_s": 90}),
    ("3 x 10 e/side", {"per_side": True}),
    ("3 x 10 L/R", {"per_side": True}),
    ("3 x 10, 90s rest", {"rest_s": 90}),
    ("3 x 10, rest 2 min", {"rest_s": 120}),
    ("3 x 10. Rest 90 sec.", {"rest_s": 90}),
    ("3 x 10 rest 90", {"rest_s": 90}),
    ("3 x 10, no rest", {"rest_s": 0}),
    ("3 x 10, goal: size", {"goal": "size"}),
    ("3 x 10 -- slow, and “tight”", {"notes": "slow, and “tight”"}),
    ("3 x 10 — slow", {"notes": "slow"}),
]


@pytest.mark.parametrize(("written", "fields"), SLOTS, ids=[written for written, _ in SLOTS])
def test_what_belongs_to_the_exercise_is_read_with_its_sets(written, fields):
    slot = only_slot(f"Split squat {written}")
    assert slot.sets == (SetGroup(count=3, reps_low=10),)
    usual = {"per_side": False, "rest_s": None, "goal": None, "notes": ""}
    assert {name: getattr(slot, name) for name in usual} == {**usual, **fields}


SEVERAL = [
    (
        "1 x 5 @ 31X1, 3 x 5 @ 20X1",
        (
            SetGroup(reps_low=5, tempo=parse_tempo("31X1")),
            SetGroup(count=3, reps_low=5, tempo=parse_tempo("20X1")),
        ),
    ),
    (
        "ramp to 3 @ RPE 8, then 3 x 5 @ -10% of top",
        (
            SetGroup(kind="ramp", reps_low=3, rpe=Decimal(8)),
            SetGroup(count=3, reps_low=5, load=RelativeToTopLoad(pct=Decimal(-10))),
        ),
    ),
    (
        "top 1 x 3, 3 x 5 @ 90% of top",
        (
            SetGroup(kind="top", reps_low=3),
            SetGroup(count=3, reps_low=5, load=RelativeToTopLoad(pct=Decimal(-10))),
        ),
    ),
    ("3 x 5, last set AMRAP", (SetGroup(count=2, reps_low=5), SetGroup(to_limit=True))),
    (
        "3 x 5 @ RPE 8, 80 kg, last set 5+",
        (
            SetGroup(count=2, reps_low=5, rpe=Decimal(8), load=kg("80")),
            SetGroup(reps_low=5, to_limit=True, load=kg("80")),
        ),
    ),
    ("5, 5, 5+", (SetGroup(reps_low=5), SetGroup(reps_low=5), SetGroup(reps_low=5, to_limit=True))),
    (
        "12/10/8 @ 3010",
        tuple(SetGroup(reps_low=reps, tempo=parse_tempo("3010")) for reps in (12, 10, 8)),
    ),
    (
        "RPE 8, 2 x 5, 2 x 3 @ RPE 9",
        (SetGroup(count=2, reps_low=5, rpe=Decimal(8)), SetGroup(count=2, reps_low=3, rpe=Decimal(9))),
    ),
    (
        "4 x 2+2+2, 20s inside",
        (
            SetGroup(
                count=4,
                kind="cluster",
                segments=(Segment(reps=2), Segment(reps=2, rest_before_s=20), Segment(reps=2, rest_before_s=20)),
            ),
        ),
    ),
    (
        "rest-pause 2 x 8 + 15s + 3 + 15s + AMRAP",
        (
            SetGroup(
                count=2,
                kind="rest_pause",
                segments=(
                    Segment(reps=8),
                    Segment(reps=3, rest_before_s=15),
                    Segment(to_limit=True, rest_before_s=15),
                ),
            ),
        ),
    ),
    (
        "1 x 12 + drop 2 x -20%",
        (
            SetGroup(
                kind="drop",
                segments=(
                    Segment(reps=12),
                    Segment(to_limit=True, load_change_pct=Decimal(-20)),
                    Segment(to_limit=True, load_change_pct=Decimal(-36)),
                ),
            ),
        ),
    ),
]


@pytest.mark.parametrize(("written", "groups"), SEVERAL, ids=[written for written, _ in SEVERAL])
def test_unlike_sets_of_one_exercise_are_read_in_order(written, groups):
    assert only_slot(f"Squat {written}").sets == groups


SESSION = """# Lower A
template: lower-a
cap 60 min

A1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 90s
A2) Pull-up      3 x 5   @ 31X2, rest 90s

B1: Split squat  3 x 10/side @ 3010, 2 x 24 kg, rest 60s
C.  12 min max rounds: 2 get-up/side, 12 sit-up, 10 ring row; entry: row 2:00
"""


def test_labelled_lines_make_pairs_and_headers_make_blocks():
    session = read(SESSION)
    assert (session.title, session.template_key, session.cap_min) == ("Lower A", "lower-a", 60)
    assert [(block.kind, block.label) for block in session.blocks] == [
        ("paired", "A"),
        ("straight", "B"),
        ("max_rounds", "C"),
    ]
    assert [slot.slot_key for slot in session.slots] == ["A1", "A2", "B1", "C1", "C2", "C3"]
    rounds = session.blocks[2]
    assert (rounds.minutes, rounds.entry.exercise, rounds.entry.duration_s) == (12, "row", 120)
    assert [(slot.exercise, slot.per_side, slot.sets[0].reps_low) for slot in rounds.slots] == [
        ("get-up", True, 2),
        ("sit-up", False, 12),
        ("ring-row", False, 10),
    ]


def test_carriage_returns_tabs_and_full_width_characters_change_nothing():
    wide = {code: chr(code + 0xFEE0) for code in map(ord, "0123456789@x:")}
    head, *lines = SESSION.splitlines()
    written = "\r\n".join([head, *(line if line.startswith("template") else line.translate(wide) for line in lines)])
    assert read(written.replace("  ", "\t")) == read(SESSION)


HEADERS = [
    ("12 min AMRAP", {"kind": "max_rounds", "minutes": 12}),
    ("AMRAP 12", {"kind": "max_rounds", "minutes": 12}),
    ("AMRAP in 12 min", {"kind": "max_rounds", "minutes": 12}),
    ("12' AMRAP", {"kind": "max_rounds", "minutes": 12}),
    ("EMOM 10", {"kind": "every_minute", "minutes": 10}),
    ("10 min EMOM", {"kind": "every_minute", "minutes": 10}),
    ("every minute on the minute for 10 min", {"kind": "every_minute", "minutes": 10}),
    ("EMOM x 8 rounds", {"kind": "every_minute", "rounds": 8}),
    ("8 x 40s on / 20s off", {"kind": "interval", "rounds": 8, "work_s": 40, "off_s": 20}),
    ("40s on, 20s off x 8", {"kind": "interval", "rounds": 8, "work_s": 40, "off_s": 20}),
    ("8 rounds of 40s work / 20s easy", {"kind": "interval", "rounds": 8, "work_s": 40, "off_s": 20}),
    ("5 rounds for time, cap 20 min", {"kind": "rounds_for_time", "rounds": 5, "cap_min": 20}),
    ("3 rounds of", {"kind": "circuit", "rounds": 3}),
    ("circuit, 3 rounds", {"kind": "circuit", "rounds": 3}),
    ("3 rounds circuit", {"kind": "circuit", "rounds": 3}),
    ("circuit x 3", {"kind": "circuit", "rounds": 3}),
    ("3 rounds, rest 2:00 between rounds", {"kind": "circuit", "rounds": 3, "rest_between_rounds_s": 120}),
    ("3 rounds, 90s rest after each round", {"kind": "circuit", "rounds": 3, "rest_between_rounds_s": 90}),
    ("5 rounds for time, rest 60 between rounds", {"kind": "rounds_for_time", "rest_between_rounds_s": 60}),
    ("12 min AMRAP, no rest between rounds", {"kind": "max_rounds", "rest_between_rounds_s": 0}),
    ("E2MOM 12 min", {"kind": "every_minute", "minutes": 12, "every_s": 120}),
    ("E2MOM x 6", {"kind": "every_minute", "rounds": 6, "minutes": None, "every_s": 120}),
    ("12 min E3MOM", {"kind": "every_minute", "minutes": 12, "every_s": 180}),
    ("E90SOM for 6 rounds", {"kind": "every_minute", "rounds": 6, "every_s": 90}),
    ("every 2 min x 6", {"kind": "every_minute", "rounds": 6, "minutes": None, "every_s": 120}),
    ("Every 2:00 for 6 rounds", {"kind": "every_minute", "rounds": 6, "every_s": 120}),
    ("every 90 s for 12 min", {"kind": "every_minute", "rounds": None, "minutes": 12, "every_s": 90}),
    ("6 x every 90s", {"kind": "every_minute", "rounds": 6, "every_s": 90}),
]


@pytest.mark.parametrize(("written", "fields"), HEADERS, ids=[written for written, _ in HEADERS])
@pytest.mark.parametrize(
    "items", [": 10 swing 24 kg, 200 m run", "\n10 swing 24 kg\n200 m run", "\n- 10 swing 24 kg\n- 200 m run"]
)
def test_a_header_makes_a_block_of_what_follows_it(written, fields, items):
    (block,) = read(f"D. {written}{items}").blocks
    assert {name: getattr(block, name) for name in fields} == fields
    assert [(slot.slot_key, slot.exercise) for slot in block.slots] == [("D1", "swing"), ("D2", "run")]
    assert [group for slot in block.slots for group in slot.sets] == [
        SetGroup(reps_low=10, load=kg("24")),
        SetGroup(distance_m=Decimal(200)),
    ]


RUNGS = (SetGroup(reps_low=21), SetGroup(reps_low=15), SetGroup(reps_low=9))


@pytest.mark.parametrize(
    "written",
    [
        "21-15-9 for time: thruster, pull-up",
        "21-15-9 reps for time of: thruster, pull-up",
        "21-15-9: thruster, pull-up",
        "21–15–9, for time\n- thruster\n- pull-up",
        "21-15-9\nthruster\npull-up",
        "For time: 21-15-9 thruster, pull-up",
        "3 rounds for time: 21-15-9 thruster, 21-15-9 pull-up",
        "3 RFT\nthruster 21, 15, 9\npull-up 21/15/9",
    ],
)
def test_numbers_that_fall_from_round_to_round_are_a_set_for_each_round(written):
    (block,) = read(f"D. {written}").blocks
    assert (block.kind, block.rounds) == ("rounds_for_time", 3)
    assert [(slot.exercise, slot.sets) for slot in block.slots] == [("thruster", RUNGS), ("pull-up", RUNGS)]


def test_what_is_said_before_rounds_of_the_header_is_said_of_each():
    (block,) = read("21-15-9 for time: thruster 40 kg, pull-up @ BW").blocks
    assert {group.load for group in block.slots[0].sets} == {kg("40")}
    assert {group.load for group in block.slots[1].sets} == {BodyweightLoad()}


def test_beside_unequal_rounds_an_exercise_may_be_the_same_in_each():
    (block,) = read("3 rounds for time: 21-15-9 thruster, 10 burpee").blocks
    assert [slot.sets for slot in block.slots] == [RUNGS, (SetGroup(reps_low=10),)]


def test_numbers_after_a_name_are_sets_and_no_rounds():
    (block,) = read("A. Thruster 21-15-9").blocks
    assert (block.kind, block.slots[0].sets) == ("straight", RUNGS)


@pytest.mark.parametrize(
    "written",
    [
        "3 rounds: 10 squat, 10 row\nrest 2:00 between rounds",
        "3 rounds: 10 squat, 10 row, rest 2 min between rounds",
        "3 rounds: 10 squat, 10 row; 120s rest between rounds",
        "3 rounds\n- 10 squat\n- 10 row\nRest 2:00 between rounds.",
        "3 rounds\n- 10 squat\n- 10 row, rest 2:00 after every round",
    ],
)
def test_a_rest_between_rounds_is_the_blocks_wherever_it_stands(written):
    (block,) = read(written).blocks
    assert (block.rounds, block.rest_between_rounds_s) == (3, 120)
    assert [slot.rest_s for slot in block.slots] == [None, None]


def test_the_rest_between_the_rounds_of_a_pair_is_the_pairs_and_of_one_exercise_its_own():
    pair, alone = read("A1. Squat 3 x 5, rest 15s\nA2. Row 3 x 8, rest 2:00 between rounds\n"
                       "B. Press 3 x 5, rest 90s between sets").blocks  # fmt: skip
    assert (pair.rest_between_rounds_s, [slot.rest_s for slot in pair.slots]) == (120, [15, None])
    assert (alone.rest_between_rounds_s, alone.slots[0].rest_s) == (None, 90)


def test_a_time_may_be_said_with_for():
    assert only_slot("Row for 20 min").sets == (SetGroup(duration_s=1200),)


def test_one_exercise_may_carry_its_own_header():
    row, bike = read("D1. Row 8 x 40s on / 20s off\nE. Bike 30 min steady").blocks
    assert (row.kind, row.rounds, row.slots[0].exercise, row.slots[0].sets) == ("interval", 8, "row", ())
    assert (bike.kind, bike.minutes, bike.slots[0].slot_key) == ("steady", 30, "E")


def test_the_load_of_another_exercise_is_named_by_its_label():
    first, second = read("A1. Squat 3 x 5 @ 80 kg\nB1. Lunge 3 x 8 @ same as A1").slots
    assert second.sets[0].load == SameAsLoad(slot_key=first.slot_key)


def test_a_cap_on_an_exercises_line_is_its_blocks():
    (block,) = read("A1. Squat 3 x 5, cap 12 min\nA2. Row 3 x 8").blocks
    assert (block.kind, block.cap_min) == ("paired", 12)


def test_unequal_numbers_of_sets_stay_as_written_in_a_pair():
    (block,) = read("A1. Squat 4 x 5\nA2. Row 3 x 8").blocks
    assert [slot.set_count for slot in block.slots] == [4, 3]


def test_a_note_on_a_line_of_its_own_goes_on_with_the_exercise_above():
    (slot,) = read("A1. Squat 3 x 5 -- belt\n-- sleeves").slots
    assert slot.notes == "belt\nsleeves"


def test_sets_may_stand_before_the_exercise():
    slot = only_slot("3 x 10 push-ups @ 20X0, rest 60s")
    assert (slot.exercise, slot.rest_s) == ("push-ups", 60)
    assert slot.sets == (SetGroup(count=3, reps_low=10, tempo=parse_tempo("20X0")),)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("1-arm row", "1-arm-row"),
        ("Farmer’s carry", "farmers-carry"),
        ("Squat (paused)", "squat-paused"),
        ("Clean & jerk", "clean-jerk"),
        ("30° incline press", "30-incline-press"),
        ("Band pull-apart", "band-pull-apart"),
        ("Drop jump", "drop-jump"),
        ("Side plank", "side-plank"),
        ("Élévation latérale", "elevation-laterale"),
        ("“Weird, name”", "weird-name"),
        ("{Weird key}", "Weird key"),
    ],
)
def test_names_become_keys_by_their_spelling_where_there_is_no_catalogue(name, key):
    assert only_slot(f"{name} 3 x 5").exercise == key


@pytest.mark.parametrize("written", ["3 x 12, 10, 8", "3 x 12 @ 3010, 10, 8", "4 sets of 8, 6"])
def test_a_bare_number_after_several_sets_is_asked_about_and_never_guessed(written):
    """It was read as one set more; coaches mean the repetitions of the second set as often."""
    parsed = parse_session(f"Bench press {written}")
    assert {fault.code for fault in parsed.faults} == {"sets"}
    assert "12-10-8" in parsed.faults[0].message
    (slot,) = [slot for block in parsed.session.blocks for slot in block.slots]
    assert sum(group.count for group in slot.sets) == (4 if "4" in written else 3)
