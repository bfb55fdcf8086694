"""Every fault at its line and column, with what was expected; the rest is still read."""

from dataclasses import replace
from decimal import Decimal

import pytest
from lark.exceptions import UnexpectedToken

from programs.prescription.notation import parse_session
from programs.prescription.notation.characters import plain
from programs.prescription.notation.line_grammar import LineReading, MisfitError, lark_grammar
from programs.prescription.notation.line_reading import words_of
from programs.prescription.structure import SetGroup
from programs.prescription.tempo import parse_tempo

THREE = SetGroup(count=3, reps_low=5)
TWO = SetGroup(count=2, reps_low=5)
FAULTS = [
    # written, column, severity, code, a part of the sentence, the sets that are still read
    ("Squat 3 x 5 @ 4X11, RPE 8", 13, "error", "tempo", "X and A only third", (replace(THREE, rpe=Decimal(8)),)),
    ("Squat 3 x 5 @ 411", 13, "error", "tempo", "three parts", (THREE,)),
    ("Squat 3 x 5 @ 0010", 13, "warning", "zero_movement", "eccentric", (replace(THREE, tempo=parse_tempo("0010")),)),
    ("Squat 3 x 5 @ 80", 15, "error", "unit", "kg, lb or %", (THREE,)),
    ("Squat 3 x 5 RPE 11, 80 kg", 17, "error", "out_of_range", "1 to 10", None),
    ("Squat 3 x 5, 8.3 RIR", 14, "error", "out_of_range", "halves", (THREE,)),
    ("Squat 30 x 5", 7, "error", "out_of_range", "from 1 to 20", ()),
    ("Squat 0 x 5 @ 31X1, 3 x 5", 7, "error", "out_of_range", "from 1 to 20", (THREE,)),
    ("Squat 3 x 8-6", 11, "error", "reps_order", "lower number first", ()),
    ("Squat 3 x foo, 2 x 5", 11, "error", "unexpected", "a number", (TWO,)),
    ("Squat 3 x foo, RPE 8, 2 x 5", 11, "error", "unexpected", "a number", (TWO,)),
    ("Squat 3 x", 10, "error", "unexpected", "ends too early", ()),
    ("Squat 3 x 5 ~ 4", 13, "error", "unexpected", "Found '~ 4'", (THREE,)),
    ("Squat 3-4 x 8", 11, "error", "unexpected", "one number of sets", ()),
    ("Squat 3 x 5, slowly", 14, "error", "unexpected", "notes after --", (THREE,)),
    ("Squat 5 x 80 kg", 7, "error", "implements", "1 x 5 @ 80 kg", ()),
    ("Squat 3 x 5, 3,5 x 5", 14, "error", "out_of_range", "whole number", (THREE,)),
    ("Squat 3 x 5, RPE 7, RPE 8", 21, "error", "said_twice", "first is kept", (replace(THREE, rpe=Decimal(7)),)),
    ("Squat last set AMRAP", 7, "error", "last_set", "sets before this", ()),
    ("Squat 3 x 5, 20s inside", 14, "error", "inside", "4 x 2+2+2", (THREE,)),
    ("Squat 3 x 5, 2-3 RIR", 14, "warning", "range_not_held", "3 is kept", (replace(THREE, in_reserve=Decimal(3)),)),
    ("Squat 3 x 5, RPE 7-8", 18, "warning", "range_not_held", "7 is kept", (replace(THREE, rpe=Decimal(7)),)),
    ("Squat 4 x 12/10/8", 7, "error", "ladder", "4 sets, but 3 numbers", ()),
    ("Squat 9999999999 x 5", 7, "error", "out_of_range", "at most 9 digits", ()),
]  # fmt: skip


@pytest.mark.parametrize("row", FAULTS, ids=[row[0] for row in FAULTS])
def test_a_fault_stands_at_its_column_and_the_rest_of_the_line_is_read(row):
    written, column, severity, code, said, sets = row
    result = parse_session(f"A1. Bench press 4 x 6\nB1. {written}\nC1. Row 3 x 8")
    fault = result.faults[0]
    assert (fault.line, fault.column, fault.severity, fault.code) == (2, column + 4, severity, code)
    assert said in fault.message
    first, second, third = result.session.slots
    assert (first.exercise, second.exercise, third.exercise) == ("bench-press", "squat", "row")
    if sets is not None:
        assert second.sets == sets


def test_every_faulty_line_is_told_in_the_order_of_the_text():
    result = parse_session("A. Squat 3 x\nB. Row 3 x 8\r\nC. Press 3 x 5 @ 80, rest 5 h\r\rD. 12 min AMRAP")
    assert [(fault.line, fault.column) for fault in result.faults] == [(1, 13), (3, 18), (3, 27), (5, 1)]
    assert [slot.exercise for slot in result.session.slots] == ["squat", "row", "press"]


STRUCTURE = [
    ("A. Deadlift 3 x 5 same as B", 1, 4, "unknown_slot"),
    ("A. Squat 3 x 5\nA. Squat 3 x 5", 2, 4, "slot_key_repeated"),
    ("A. Squat 3 x 5 @ -10% of top", 1, 4, "no_top_set"),
    ("A. 12 min AMRAP: 10 squat, 5 row\n- 10 press\nB. EMOM: 5 clean", 3, 1, "minutes_or_rounds"),
    ("5 rounds for time\n3 x 5 squat", 2, 1, "sets_in_rounds"),
    ("A. Squat, rest 60s", 1, 4, "no_sets"),
    ("Bench press", 1, 1, "empty"),
    ("", 1, 1, "empty"),
]


@pytest.mark.parametrize(("text", "line", "column", "code"), STRUCTURE)
def test_what_lines_ask_for_together_and_nobody_could_perform_is_told_at_its_line(text, line, column, code):
    result = parse_session(text)
    assert (line, column, code) in [(fault.line, fault.column, fault.code) for fault in result.faults]
    assert result.has_errors


def test_a_faulty_line_is_not_reproached_with_what_its_fault_left_out():
    result = parse_session("A. Squat 3 x foo")
    assert [fault.code for fault in result.faults] == ["unexpected"]


def test_a_range_of_rests_keeps_the_longer_and_says_so():
    result = parse_session("A. Squat 3 x 5, rest 2-3 min")
    assert result.session.slots[0].rest_s == 180
    assert [(fault.severity, fault.code) for fault in result.faults] == [("warning", "range_not_held")]


def test_each_place_of_the_document_has_its_line():
    result = parse_session("# Lower\n\nA1. Squat 3 x 5\nA2. Row 3 x 8\n\nB. 12 min AMRAP:\n10 push-ups")
    assert result.lines == {
        "#/blocks/0": 3,
        "#/blocks/0/slots/0": 3,
        "#/blocks/0/slots/1": 4,
        "#/blocks/1": 6,
        "#/blocks/1/slots/0": 7,
    }
    assert result.line_of("#/blocks/0/slots/1/sets/0/load") == 4
    assert result.line_of("#/cap_min") is None


def test_a_heading_between_exercises_is_noted_and_left_out():
    result = parse_session("A. Squat 3 x 5\nAccessories:\nB. Row 3 x 8")
    assert [(fault.line, fault.severity, fault.code) for fault in result.faults] == [(2, "note", "heading")]
    assert [slot.slot_key for slot in result.session.slots] == ["A", "B"]


def test_a_line_is_read_as_the_parsing_library_itself_reads_it():
    """The loop over the words is our own; the grammar and what it makes of a line are the library's."""
    lines = [line for line, *_ in FAULTS] + [
        "a1. bench press 4 x 6-8 @ 41x1, rpe 8, rest 90s -- slow",
        "c. 12 min max rounds: 2 get-up/side, 12 sit-up, 10 ring row; entry: row 2:00",
        "d. 21-15-9 for time: thruster 40 kg, pull-up",
        "8 x 40s on / 20s off, rest 2:00 between rounds",
        "squat 2+2+2, 20s inside, 12/10/8 + drop 2 x -20%, last set amrap",
    ]
    for written in lines:
        words = words_of(plain(written))
        ours, theirs = _ours(words), _librarys(words)
        assert ours == theirs, written


def _ours(words):
    reading = LineReading()
    try:
        for word in words:
            reading.feed(word)
        return _shape(reading.tree())
    except MisfitError as error:
        return error.expected


def _librarys(words):
    parser = lark_grammar().parse_interactive()
    try:
        for word in words:
            parser.feed_token(word)
        return _shape(parser.feed_eof())
    except UnexpectedToken as error:
        return frozenset(error.expected)


def _shape(node):
    return (str(node.data), [_shape(child) for child in node.children]) if hasattr(node, "children") else node.text
