"""Progression rules as coaches write them."""

import pytest

from programs.prescription.progression_document import encode_rule
from programs.prescription.progression_notation import parse_progression, print_progression

# What is written, and the rule that it is, in JSON.
WRITTEN = [
    ("A1: +2.5 kg", {"kind": "load_step", "step_kg": "2.5", "slot_keys": ["A1"], "every_weeks": 1}),
    ("A1: + 2,5 kg weekly", {"kind": "load_step", "step_kg": "2.5", "slot_keys": ["A1"], "every_weeks": 1}),
    (
        "A1, B2 in lower-a, upper: +5 lbs every 2 weeks from week 3 to week 7",
        {
            "kind": "load_step",
            "step_lb": "5",
            "slot_keys": ["A1", "B2"],
            "template_keys": ["lower-a", "upper"],
            "every_weeks": 2,
            "from_week": 3,
            "to_week": 7,
        },
    ),
    (
        "in lower-a: -2 % of load",
        {"kind": "load_step", "step_pct": "-2", "template_keys": ["lower-a"], "every_weeks": 1},
    ),
    ("B1: 75, 80, 85 %", {"kind": "percent", "pcts": ["75", "80", "85"], "slot_keys": ["B1"], "every_weeks": 1}),
    ("B1: 72.5% / 75% TM", {"kind": "percent", "pcts": ["72.5", "75"], "slot_keys": ["B1"], "every_weeks": 1}),
    ("B1: +2.5 % of the max", {"kind": "percent", "step_pct": "2.5", "slot_keys": ["B1"], "every_weeks": 1}),
    ("+2.5 points each week", {"kind": "percent", "step_pct": "2.5", "every_weeks": 1}),
    ("+1 rep to 8", {"kind": "reps_step", "step_reps": 1, "limit_reps": 8, "every_weeks": 1}),
    (
        "+1 set to 6 weeks 3-8",
        {"kind": "set_step", "step_sets": 1, "limit_sets": 6, "every_weeks": 1} | {"from_week": 3, "to_week": 8},
    ),
    (
        "C1: rest -5s down to 45s",
        {"kind": "rest_step", "step_s": -5, "limit_s": 45, "slot_keys": ["C1"], "every_weeks": 1},
    ),
    ("-5 s rest", {"kind": "rest_step", "step_s": -5, "every_weeks": 1}),
    ("eccentric +1 s to 6", {"kind": "tempo_step", "phase": "eccentric", "step_s": 1, "limit_s": 6, "every_weeks": 1}),
    ("+1 s on the shortened pause", {"kind": "tempo_step", "phase": "shortened", "step_s": 1, "every_weeks": 1}),
    (
        "B: double progression to 12, +1 kg",
        {"kind": "double_progression", "reps_high": 12, "step_reps": 1, "step_kg": "1"}
        | {"slot_keys": ["B"], "every_weeks": 1},
    ),
    (
        "double progression to 12 reps by 2 reps, +2.5 %",
        {"kind": "double_progression", "reps_high": 12, "step_reps": 2, "step_pct": "2.5", "every_weeks": 1},
    ),
    (
        "wave +5 % -1 rep, same, +10% load +1 set",
        {
            "kind": "wave",
            "weeks": [
                {"load_pct": "5", "reps": -1, "sets": 0},
                {"load_pct": "0", "reps": 0, "sets": 0},
                {"load_pct": "10", "reps": 0, "sets": 1},
            ],
        },
    ),
    ("deload every 4 weeks", {"kind": "deload", "every_weeks": 4, "sets_pct": "50", "load_pct": "-10"}),
    (
        "Deload every 5 weeks: 60 % of the sets, -15 % load, 70 % of rounds".replace(":", ","),
        {"kind": "deload", "every_weeks": 5, "sets_pct": "60", "load_pct": "-15", "rounds_pct": "70"},
    ),
    ("[1]: +1 rep -- slowly", {"kind": "reps_step", "step_reps": 1, "slot_keys": ["1"], "every_weeks": 1}),
    (
        "\uff21\uff11\uff1a \uff0b\uff12\uff0e\uff15 kg",
        {"kind": "load_step", "step_kg": "2.5", "slot_keys": ["A1"]} | {"every_weeks": 1},
    ),
]


@pytest.mark.parametrize(("written", "rule"), WRITTEN)
def test_a_rule_is_read_as_coaches_write_it(written, rule):
    read = parse_progression(written)
    assert read.faults == ()
    assert [encode_rule(found) for found in read.rules] == [rule]
    assert parse_progression(print_progression(read.rules)).rules == read.rules


def test_each_line_is_a_rule_and_a_fault_in_one_spoils_no_other():
    read = parse_progression("-- block one\r\n\r\nA1: +2.5 kg\r\nB1: +2.5 stone\r\ndeload every 4 weeks\r\n")
    assert [encode_rule(rule)["kind"] for rule in read.rules] == ["load_step", "deload"]
    assert read.lines == (3, 5)
    (fault,) = read.faults
    assert (fault.line, fault.column, fault.severity) == (4, 10, "error")
    assert fault.message.startswith("Found 'stone'; expected kg, lb, %, reps, sets or s")


FAULTS = [
    ("A1 +2.5 kg", 1, "unexpected", "slots with a colon, such as A1, B2:"),
    ("A1: +2.5", 9, "unexpected", "kg, lb, %, reps, sets or s"),
    ("A1: jump", 5, "unexpected", "a step such as +2.5 kg"),
    ("deload", 7, "unexpected", "every 4 weeks"),
    ("deload every 1 weeks", 1, "out_of_range", "every_weeks must be 2 or more."),
    ("+1.5 reps", 1, "wrong_type", "Send a whole number"),
    ("+1 rep from week 6 to week 3", 1, "weeks_order", "Make to_week at least 6"),
    ("+1 rep every week every 2 weeks", 19, "said_twice", "say it once"),
    ("wave +5 % +6 %", 11, "said_twice", "say it once"),
    ("deload every 4 weeks, 60 % of sets, 50 % of sets", 37, "said_twice", "say it once"),
    ("B1: 75, 80", 11, "unexpected", "%"),
]


@pytest.mark.parametrize(("written", "column", "code", "said"), FAULTS)
def test_what_can_not_be_read_is_told_at_its_column_with_what_was_expected(written, column, code, said):
    read = parse_progression(written)
    assert read.rules == ()
    (fault,) = read.faults
    assert (fault.line, fault.column, fault.code) == (1, column, code)
    assert said in fault.message


def test_too_many_rules_are_told_at_the_first_too_many():
    read = parse_progression("+1 rep\n" * 42)
    assert len(read.rules) == 40
    assert [(fault.line, fault.code) for fault in read.faults] == [(41, "too_many")]
