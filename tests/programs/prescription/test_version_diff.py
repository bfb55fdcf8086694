from dataclasses import replace

from programs.prescription.document import decode_version
from programs.prescription.version_diff import diff_versions, weeks_words
from tests.programs.prescription.cast import block, slot

NAMES = {"back-squat": "squat"}


def squat(count=4, reps=6, tempo="41X1", **fields):
    return slot("A1", "back-squat", {"count": count, "reps_low": reps, "tempo": tempo}, **fields)


def version(*weeks, progression=()):
    return decode_version(
        {
            "weeks": [
                {
                    "week_number": number,
                    "days": [{"day_number": 1, "template_key": "lower-a", "title": "Lower A", "blocks": list(blocks)}],
                }
                for number, blocks in enumerate(weeks, start=1)
            ],
            "progression": list(progression),
        }
    )


def same(slots, weeks):
    return [[block("straight", each) for each in slots]] * weeks


def words(old, new):
    return [str(change) for change in diff_versions(old, new, NAMES)]


def test_one_change_in_several_weeks_is_said_once():
    old = version(*same([squat()], 4))
    new = version(*same([squat()], 2), *same([squat(5, 5, "31X1")], 2))
    assert words(old, new) == ["squat: 4x6 at 41X1 → 5x5 at 31X1, weeks 3\u20134"]


def test_equal_versions_say_nothing():
    assert words(version(*same([squat()], 3)), version(*same([squat()], 3))) == []


def test_only_the_sets_that_change_are_said():
    def ramped(reps):
        sets = ({"kind": "ramp", "reps_low": 3, "rpe": 8}, {"count": 3, "reps_low": reps})
        return slot("A1", "back-squat", *sets)

    assert words(version(*same([ramped(5)], 1)), version(*same([ramped(4)], 1))) == ["squat: 3x5 → 3x4, week 1"]


def test_rest_goal_and_notes_are_changes_too():
    old = version(*same([squat(rest_s=90, goal="size", notes="")], 1))
    new = version(*same([squat(rest_s=150, goal="strength", notes="Belt.")], 1))
    assert words(old, new) == [
        "squat: rest 90 s → rest 150 s, week 1",
        "squat: for size → for strength, week 1",
        "squat: note “” → note “Belt.”, week 1",
    ]


def test_an_exercise_swapped_added_and_taken_out():
    curl = slot("B1", "curl", {"count": 3, "reps_low": 10})
    old = version(*same([squat(), curl], 1))
    new = version(*same([slot("A1", "front-squat", {"count": 4, "reps_low": 6, "tempo": "41X1"})], 1))
    assert words(old, new) == ["A1: squat → front squat, week 1", "curl taken out: 3x10, week 1"]
    assert words(new, old)[1] == "curl added: 3x10, week 1"


def test_blocks_that_are_paired_are_said():
    curl = slot("A2", "curl", {"count": 3, "reps_low": 10})
    old = version([block("straight", squat()), block("straight", curl)])
    new = version([block("paired", squat(), curl)])
    assert "Block of A1: straight A1 → paired A1+A2, week 1" in words(old, new)


def test_a_clock_and_a_rest_between_rounds_are_said():
    def timed(kind, **timing):
        return version([block(kind, slot("D1", "curl", {"reps_low": 10}), **timing)])

    assert words(timed("every_minute", minutes=12), timed("every_minute", minutes=12, every_s=120)) == [
        "Block of D1: every minute D1, 12 min → every minute D1, 12 min, 120 s from start to start, week 1"
    ]
    assert words(timed("rounds_for_time", rounds=3), timed("rounds_for_time", rounds=3, rest_between_rounds_s=60)) == [
        "Block of D1: rounds for time D1, 3 rounds → rounds for time D1, 3 rounds, 60 s rest between rounds, week 1"
    ]


def test_weeks_and_rules_that_come_and_go():
    old = version(*same([squat()], 4))
    rule = {"kind": "deload", "every_weeks": 4}
    new = version(*same([squat()], 2), progression=[rule])
    assert words(old, new) == ["weeks 3\u20134 taken out", "Progression: 0 rules → 1 rule"]
    assert words(new, old) == ["weeks 3\u20134 added", "Progression: 1 rule → 0 rules"]


def test_a_deload_mark_is_a_change():
    old = version(*same([squat()], 2))
    marked = replace(old, weeks=(old.weeks[0], replace(old.weeks[1], deload=True)))
    assert words(old, marked) == ["Week: working week → deload, week 2"]


def test_a_session_moved_named_and_capped():
    old = version(*same([squat()], 1))
    day = old.weeks[0].days[0]
    moved = replace(day, day_number=3, session=replace(day.session, title="Legs", cap_min=45))
    new = replace(old, weeks=(replace(old.weeks[0], days=(moved,)),))
    assert words(old, new) == [
        "Session Legs: day 1 → day 3, week 1",
        "Session Legs: cap none → cap 45 min, week 1",
        "Session Legs: called Lower A → called Legs, week 1",
    ]


def test_whole_sessions_come_and_go():
    old = version(*same([squat()], 1))
    empty = replace(old, weeks=(replace(old.weeks[0], days=()),))
    assert words(old, empty) == ["Session Lower A taken out, week 1"]
    assert words(empty, old) == ["Session Lower A added, week 1"]


def test_week_numbers_are_drawn_together_in_runs():
    assert weeks_words([2]) == "week 2"
    assert weeks_words([1, 3, 4, 5, 8]) == "weeks 1, 3\u20135, 8"


def test_measures_and_loads_are_said_in_the_trades_words():
    before = slot(
        "A1",
        "back-squat",
        {"count": 2, "duration_s": 40, "in_reserve": 2},
        {"count": 2, "distance_m": 40, "load": {"kind": "absolute", "load_kg": "24.50"}},
        {"reps_low": 5, "to_limit": True, "load": {"kind": "percent", "of": "training_max", "pct": "85"}},
        {"kind": "drop", "segments": [{"reps": 12}, {"to_limit": True, "load_change_pct": -20}]},
        {"reps_low": 6, "reps_high": 8, "rpe": 8},
        per_side=True,
    )
    (change,) = diff_versions(version(*same([before], 1)), version(*same([squat()], 1)), NAMES)
    assert change.before == (
        "2x40 s/side, 2 in reserve; 2x40 m/side, 24.5 kg; 1x5+/side, 85 % of the training maximum; "
        "drop 1x12+limit at -20 %/side; 1x6-8/side, RPE 8"
    )
