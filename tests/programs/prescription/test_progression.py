from decimal import Decimal

import pytest

from programs.prescription.document import DocumentError, decode_version, encode_version
from programs.prescription.progression import ProgressionError, expand, preview
from programs.prescription.structure import VersionContent
from programs.prescription.version_analysis import analyse_version
from tests.programs.prescription.cast import EXERCISES, block, slot


def kg(load):
    return {"kind": "absolute", "load_kg": load}


SQUAT = slot(
    "A1",
    "back-squat",
    {"kind": "warm_up", "reps_low": 8, "load": kg("40")},
    {"count": 4, "reps_low": 6, "tempo": "41X1", "load": kg("80")},
    rest_s=150,
)
CURL = slot("B1", "curl", {"count": 3, "reps_low": 8, "load": kg("10")})
BENCH = slot("C1", "bench-press", {"count": 3, "reps_low": 5, "load": {"kind": "percent", "of": "tested", "pct": 70}})
ROUNDS = block("rounds_for_time", slot("D1", "curl", {"reps_low": 10, "load": kg("8")}), rounds=3)
DAY = {
    "day_number": 1,
    "template_key": "full-a",
    "blocks": [*(block("straight", each) for each in (SQUAT, CURL, BENCH)), ROUNDS],
}


FALLING = block(
    "rounds_for_time",
    slot("E1", "curl", *({"reps_low": reps, "load": kg("20")} for reps in (21, 15, 9))),
    slot("E2", "back-squat", {"reps_low": 10}),
    rounds=3,
)
CLOCKED = block("every_minute", slot("F1", "curl", {"reps_low": 10}), minutes=12, every_s=90)
FALLING_DAY = {"day_number": 2, "template_key": "full-b", "blocks": [FALLING, CLOCKED]}


def content(*rules, days=(DAY,)):
    return decode_version({"weeks": [{"week_number": 1, "days": list(days)}], "progression": list(rules)})


def work(expanded, week, slot_key="A1"):
    """The last set group of a slot in a week."""
    (found,) = [each for each in expanded.weeks[week - 1].days[0].session.slots if each.slot_key == slot_key]
    return found.sets[-1]


def loads(rule, *, weeks=5, slot_key="A1", exercises=EXERCISES):
    expanded = expand(content(rule), weeks, exercises)
    return [work(expanded, week, slot_key).load.value for week in range(1, weeks + 1)]


def test_a_load_step_raises_the_load_every_week_and_leaves_warm_ups_alone():
    expanded = expand(content({"kind": "load_step", "slot_keys": ["A1"], "step_kg": "2.5"}), 4)
    assert [work(expanded, week).load.value for week in (1, 2, 3, 4)] == [80, Decimal("82.5"), 85, Decimal("87.5")]
    warm_ups = [week.days[0].session.slots[0].sets[0] for week in expanded.weeks]
    assert warm_ups == [warm_ups[0]] * 4
    assert work(expanded, 4, "B1").load.value == 10


def test_a_load_step_may_come_every_other_week_and_stop():
    rule = {"kind": "load_step", "step_kg": 5, "every_weeks": 2}
    assert loads(rule) == [80, 80, 85, 85, 90]
    assert loads({**rule, "every_weeks": 1, "from_week": 3, "to_week": 4}) == [80, 80, 85, 90, 90]


def test_a_load_step_in_percent_is_of_week_one_and_rounded_down_to_what_can_be_loaded():
    # 4 % of 80 kg is 3.2: 83.2, 86.4, 89.6 and 92.8 kg, down to steps of 2.5 kg.
    assert loads({"kind": "load_step", "slot_keys": ["A1"], "step_pct": 4}) == [
        80,
        Decimal("82.5"),
        85,
        Decimal("87.5"),
        Decimal("92.5"),
    ]


def test_repetitions_sets_rest_and_tempo_step_as_far_as_their_limits():
    only = {"slot_keys": ["A1"]}
    expanded = expand(
        content(
            {"kind": "reps_step", "step_reps": -1, "limit_reps": 4, **only},
            {"kind": "set_step", "step_sets": 1, "limit_sets": 5, **only},
            {"kind": "rest_step", "step_s": 30, **only},
            {"kind": "tempo_step", "phase": "eccentric", "step_s": -1, "limit_s": 2, **only},
        ),
        5,
    )
    found = [(work(expanded, week).count, work(expanded, week).reps_low) for week in range(1, 6)]
    assert found == [(4, 6), (5, 5), (5, 4), (5, 4), (5, 4)]
    assert [str(work(expanded, week).tempo) for week in range(1, 6)] == ["41X1", "31X1", "21X1", "21X1", "21X1"]
    assert [week.days[0].session.slots[0].rest_s for week in expanded.weeks] == [150, 180, 210, 240, 270]


def test_percentages_are_listed_or_stepped():
    listed = expand(content({"kind": "percent", "pcts": [75, 80]}), 5)
    assert [work(listed, week, "C1").load.pct for week in range(1, 6)] == [70, 75, 80, 80, 80]
    stepped = expand(content({"kind": "percent", "step_pct": "2.5"}), 3)
    assert [work(stepped, week, "C1").load.pct for week in (1, 2, 3)] == [70, Decimal("72.5"), 75]


def test_waves_come_back_to_their_first_week():
    wave = {"kind": "wave", "weeks": [{"load_pct": 5, "reps": -1}, {"load_pct": 10, "reps": -2, "sets": 1}]}
    expanded = expand(content({**wave, "slot_keys": ["A1"]}), 5, EXERCISES)
    found = [(work(expanded, week).count, work(expanded, week).reps_low) for week in range(1, 6)]
    assert found == [(4, 6), (4, 5), (5, 4), (4, 6), (4, 5)]
    # 84 and 88 kg, down to steps of 2.5 kg.
    assert [work(expanded, week).load.value for week in range(1, 6)] == [
        80,
        Decimal("82.5"),
        Decimal("87.5"),
        80,
        Decimal("82.5"),
    ]


def test_double_progression_takes_repetitions_up_and_then_the_load():
    rule = {"kind": "double_progression", "slot_keys": ["B1"], "reps_high": 10, "step_kg": 2}
    expanded = expand(content(rule), 7)
    found = [(work(expanded, week, "B1").reps_low, work(expanded, week, "B1").load.value) for week in range(1, 8)]
    assert found == [(8, 10), (9, 10), (10, 10), (8, 12), (9, 12), (10, 12), (8, 14)]


def test_a_deload_is_marked_lighter_and_no_step_on_the_way():
    expanded = expand(
        content({"kind": "deload", "every_weeks": 4}, {"kind": "load_step", "slot_keys": ["A1"], "step_kg": 5}),
        6,
        EXERCISES,
    )
    assert [week.deload for week in expanded.weeks] == [False, False, False, True, False, False]
    # Week 4 is week 3 (90 kg) with half the sets and a tenth less, 81 kg, down to 80; week 5 goes on from week 3.
    assert [work(expanded, week).load.value for week in range(1, 7)] == [80, 85, 90, 80, 95, 100]
    assert [work(expanded, week).count for week in range(1, 7)] == [4, 4, 4, 2, 4, 4]
    assert work(expanded, 4, "C1").load.pct == 63


def test_sets_that_rounds_repeat_stay_one():
    expanded = expand(content({"kind": "set_step", "step_sets": 1}), 3)
    assert work(expanded, 3, "D1").count == 1
    assert work(expanded, 3, "B1").count == 5
    assert decode_version(encode_version(expanded)) == expanded


def test_week_one_stays_and_expanding_again_changes_nothing():
    rules = [{"kind": "load_step", "step_kg": 2}, {"kind": "deload", "every_weeks": 3}]
    once = expand(content(*rules), 6, EXERCISES)
    assert once.weeks[0] == content(*rules).weeks[0]
    assert expand(once, 6, EXERCISES) == once
    assert expand(once, 4, EXERCISES).weeks == once.weeks[:4]


def test_without_rules_written_weeks_stay_and_missing_ones_are_copies():
    written = content()
    expanded = expand(written, 3)
    assert [week.week_number for week in expanded.weeks] == [1, 2, 3]
    assert expanded.weeks[2].days == written.weeks[0].days


def test_rules_are_kept_in_the_document_and_absent_where_there_are_none():
    rules = [
        {"kind": "load_step", "slot_keys": ["A1"], "step_lb": "5", "every_weeks": 2, "from_week": 3, "to_week": 9},
        {"kind": "double_progression", "reps_high": 12, "step_pct": "2.5"},
        {"kind": "percent", "pcts": ["75", "80"]},
        {"kind": "percent", "step_pct": "2.5"},
        {"kind": "reps_step", "step_reps": -1, "limit_reps": 3},
        {"kind": "set_step", "step_sets": 1, "limit_sets": 6},
        {"kind": "rest_step", "step_s": 15, "limit_s": 240},
        {"kind": "tempo_step", "phase": "lengthened", "step_s": 1, "limit_s": 3},
        {"kind": "wave", "weeks": [{"load_pct": "5", "reps": -1, "sets": 0}], "template_keys": ["full-a"]},
        {"kind": "deload", "every_weeks": 4, "sets_pct": "60", "load_pct": "-10"},
    ]
    read = content(*rules)
    assert len(read.progression) == len(rules)
    assert decode_version(encode_version(read)) == read
    assert "progression" not in encode_version(content())
    assert VersionContent().progression == ()


@pytest.mark.parametrize(
    ("rule", "pointer", "code"),
    [
        ({"kind": "load_step"}, "#/progression/0", "one_step"),
        ({"kind": "load_step", "step_kg": 2, "step_lb": 5}, "#/progression/0", "one_step"),
        ({"kind": "percent"}, "#/progression/0", "one_step"),
        ({"kind": "percent", "step_pct": 2, "pcts": [70]}, "#/progression/0", "one_step"),
        ({"kind": "linear"}, "#/progression/0/kind", "unknown_choice"),
        ({"step_kg": 2}, "#/progression/0/kind", "unknown_choice"),
        ({"kind": "load_step", "step_kg": 2, "every_weks": 2}, "#/progression/0/every_weks", "unknown_field"),
        ({"kind": "load_step", "step_kg": "two"}, "#/progression/0/step_kg", "wrong_type"),
        ({"kind": "load_step", "step_kg": 2, "from_week": 1}, "#/progression/0/from_week", "out_of_range"),
        ({"kind": "load_step", "step_kg": 2, "from_week": 4, "to_week": 3}, "#/progression/0", "weeks_order"),
        ({"kind": "wave", "weeks": []}, "#/progression/0/weeks", "too_few"),
        ({"kind": "wave", "weeks": [{"laod_pct": 5}]}, "#/progression/0/weeks/0/laod_pct", "unknown_field"),
        ({"kind": "deload", "every_weeks": 1}, "#/progression/0/every_weeks", "out_of_range"),
        ({"kind": "tempo_step", "phase": "down", "step_s": 1}, "#/progression/0/phase", "unknown_choice"),
        ("load_step", "#/progression/0", "model_attributes_type"),
    ],
)
def test_a_rule_that_cannot_be_read_is_a_fault_at_its_place(rule, pointer, code):
    with pytest.raises(DocumentError) as refused:
        content(rule)
    assert [fault.pointer for fault in refused.value.faults] == [pointer]
    if isinstance(rule, dict):
        assert [fault.code for fault in refused.value.faults] == [code]


@pytest.mark.parametrize(
    ("rule", "pointer", "code"),
    [
        ({"kind": "load_step", "step_kg": 2, "slot_keys": ["Z9"]}, "#/progression/0/slot_keys/0", "unknown_target"),
        (
            {"kind": "load_step", "step_kg": 2, "template_keys": ["other"]},
            "#/progression/0/template_keys/0",
            "unknown_target",
        ),
        ({"kind": "load_step", "step_lb": 5}, "#/progression/0", "rule_without_effect"),
        ({"kind": "percent", "step_pct": 2, "slot_keys": ["A1"]}, "#/progression/0", "rule_without_effect"),
        ({"kind": "rest_step", "step_s": 5, "slot_keys": ["B1"]}, "#/progression/0", "rule_without_effect"),
        (
            {"kind": "tempo_step", "phase": "concentric", "step_s": 1, "slot_keys": ["A1"]},
            "#/progression/0",
            "rule_without_effect",
        ),
        ({"kind": "set_step", "step_sets": 1, "slot_keys": ["D1"]}, "#/progression/0", "rule_without_effect"),
        ({"kind": "reps_step", "step_reps": -2, "slot_keys": ["A1"]}, "#/progression/0", "no_step"),
        ({"kind": "set_step", "step_sets": 10, "slot_keys": ["A1"]}, "#/progression/0", "no_step"),
        ({"kind": "percent", "step_pct": 50}, "#/progression/0", "no_step"),
        (
            {"kind": "tempo_step", "phase": "eccentric", "step_s": -3, "slot_keys": ["A1"]},
            "#/progression/0",
            "no_step",
        ),
    ],
)
def test_a_rule_that_cannot_be_followed_is_refused_with_its_place(rule, pointer, code):
    with pytest.raises(ProgressionError) as refused:
        expand(content(rule), 4)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [(pointer, code)]


def test_a_version_without_a_first_week_and_an_impossible_number_of_weeks_are_refused():
    with pytest.raises(ProgressionError, match="Write week 1"):
        expand(VersionContent(), 4)
    with pytest.raises(ProgressionError, match="1 to 52 weeks"):
        expand(content(), 53)


def test_the_preview_says_each_week_in_words_against_the_working_week_before():
    rules = [{"kind": "load_step", "slot_keys": ["A1"], "step_kg": 5}, {"kind": "deload", "every_weeks": 3}]
    shown = preview(content(*rules), 4, EXERCISES).weeks
    assert [(week.week_number, week.deload, week.compared_with) for week in shown] == [
        (1, False, None),
        (2, False, 1),
        (3, True, 2),
        (4, False, 2),
    ]
    assert [str(change) for change in shown[1].changes] == ["Back squat: 4x6 at 41X1, 80 kg → 4x6 at 41X1, 85 kg"]
    assert str(shown[2].changes[0]) == "Week: working week → deload"
    assert [str(change) for change in shown[3].changes] == ["Back squat: 4x6 at 41X1, 85 kg → 4x6 at 41X1, 90 kg"]


def test_a_planned_jump_in_load_is_told_before_publishing_and_blocks_nothing():
    rule = {"kind": "double_progression", "slot_keys": ["B1"], "reps_high": 9, "step_kg": 2}
    shown = preview(content(rule), 3, EXERCISES)
    (finding,) = shown.findings
    assert (finding.code, finding.severity, finding.figure) == ("planned_load_jump", "note", Decimal(20))
    assert finding.pointer == "#/weeks/2/days/0/blocks/1/slots/0"
    analysis = analyse_version(shown.content, EXERCISES)
    assert finding in analysis.findings
    assert not analysis.has_errors


def test_ten_percent_is_no_jump():
    rule = {"kind": "load_step", "slot_keys": ["A1"], "step_kg": 8}
    assert preview(content(rule), 2, EXERCISES).findings == ()


def test_the_week_after_a_deload_is_held_against_the_week_before_it():
    rules = [{"kind": "deload", "every_weeks": 2, "load_pct": -40}, {"kind": "load_step", "step_kg": "0.5"}]
    assert preview(content(*rules), 4, EXERCISES).findings == ()


def test_many_more_sets_from_one_week_to_the_next_are_told():
    findings = preview(content({"kind": "set_step", "step_sets": 2}), 2, EXERCISES).findings
    # 4 + 3 + 3 sets become 6 + 5 + 5, beside 3 rounds: 19 against 13.
    (finding,) = findings
    assert (finding.code, finding.figure) == ("planned_volume_jump", Decimal("46.2"))


def repeated(*rules, week=2):
    """The blocks in rounds in a week."""
    return expand(content(*rules, days=(FALLING_DAY,)), week, EXERCISES).weeks[week - 1].days[0].session.blocks


def test_a_step_is_taken_by_the_set_of_every_round_and_there_stay_as_many():
    falling, _ = repeated({"kind": "load_step", "slot_keys": ["E1"], "step_kg": "2"})
    assert [group.load.value for group in falling.slots[0].sets] == [22, 22, 22]
    falling, _ = repeated({"kind": "deload", "every_weeks": 2, "sets_pct": "50", "load_pct": "-10"})
    assert [(group.reps_low, group.load.value) for group in falling.slots[0].sets] == [(21, 18), (15, 18), (9, 18)]
    assert falling.rounds == 3


def test_a_deload_may_keep_a_share_of_the_rounds_and_of_the_minutes():
    falling, clocked = repeated({"kind": "deload", "every_weeks": 2, "rounds_pct": "60", "load_pct": "0"})
    # 3 x 0.6 = 1.8, two rounds, the first two; eight intervals of 90 s x 0.6 = 4.8, five: 7.5 min, and 9 are whole.
    assert falling.rounds == 2
    assert [[group.reps_low for group in slot.sets] for slot in falling.slots] == [[21, 15], [10]]
    assert (clocked.minutes, clocked.intervals) == (9, 6)
    falling, _ = repeated({"kind": "deload", "every_weeks": 2, "rounds_pct": "1", "load_pct": "0"})
    assert (falling.rounds, len(falling.slots[0].sets)) == (1, 1)


def test_a_deload_that_says_nothing_of_rounds_keeps_them_and_reads_back_as_it_was_written():
    rule = {"kind": "deload", "every_weeks": 2}
    assert [(one.rounds, one.minutes) for one in repeated(rule)] == [(3, None), (None, 12)]
    with_rounds = content({**rule, "rounds_pct": "60"})
    assert decode_version(encode_version(with_rounds)) == with_rounds
    assert "rounds_pct" not in encode_version(content(rule))["progression"][0]
