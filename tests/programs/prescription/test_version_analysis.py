from decimal import Decimal

import pytest

from programs.prescription.document import decode_version
from programs.prescription.version_analysis import analyse_version
from tests.programs.prescription.cast import EXERCISES, block, slot


def day(number, *slots):
    blocks = [block("straight", written) for written in slots]
    return {"day_number": number, "template_key": f"day-{number}", "blocks": blocks}


def lift(key, exercise, count, *, reps=8, **fields):
    return slot(key, exercise, {"count": count, "reps_low": reps, "rpe": 8, **fields}, rest_s=300)


def analysed(*weeks):
    listed = [{"week_number": number, **week} for number, week in enumerate(weeks, start=1)]
    return analyse_version(decode_version({"weeks": listed}), EXERCISES)


def told(analysis, *codes):
    return [finding for finding in analysis.findings if finding.code in codes]


def reading(analysis, measure, muscle=None, week=0):
    return next(found for found in analysis.weeks[week].readings if (found.measure, found.muscle) == (measure, muscle))


def test_a_muscle_under_five_sets_a_week_is_noted_once_for_all_its_weeks():
    analysis = analysed({"days": [day(1, lift("A1", "curl", 4))]}, {"days": [day(1, lift("A1", "curl", 4))]})
    (finding,) = told(analysis, "weekly_sets_low")
    assert (finding.severity, finding.pointer) == ("note", "#/weeks/0")
    assert (finding.figure, finding.bound, finding.unit) == (4, 5, "sets")
    assert finding.message.startswith("Weeks 1\u20132: the biceps have 4 hard sets")
    assert "Schoenfeld" in finding.source


def test_another_figure_in_another_week_is_told_apart():
    analysis = analysed({"days": [day(1, lift("A1", "curl", 3))]}, {"days": [day(1, lift("A1", "curl", 4))]})
    assert [(found.pointer, found.figure) for found in told(analysis, "weekly_sets_low")] == [
        ("#/weeks/0", 3),
        ("#/weeks/1", 4),
    ]


def test_the_two_days_of_a_week_count_together():
    analysis = analysed({"days": [day(1, lift("A1", "curl", 3)), day(2, lift("A1", "curl", 3))]})
    assert told(analysis, "weekly_sets_low") == []
    assert reading(analysis, "weekly_sets", "biceps").verdict == "within"


def test_a_muscle_over_twenty_sets_a_week_is_noted():
    analysis = analysed({"days": [day(1, lift("A1", "curl", 11)), day(2, lift("A1", "curl", 10))]})
    (finding,) = told(analysis, "weekly_sets_high")
    assert (finding.figure, finding.bound) == (21, 20)
    assert reading(analysis, "weekly_sets", "biceps").verdict == "over"


def test_halves_for_secondary_muscles_count_but_are_not_told_as_low():
    # Bench press 8: chest 8, triceps and front delts 4 each by halves.
    analysis = analysed({"days": [day(1, lift("A1", "bench-press", 8))]})
    found = reading(analysis, "weekly_sets", "triceps")
    assert (found.figure, found.verdict) == (4, "under")
    assert told(analysis, "weekly_sets_low") == []


REASON = "is not written: give them an RPE or a reserve."


@pytest.mark.parametrize("count", [4, 12])
def test_sets_of_unknown_effort_leave_a_muscle_unjudged(count):
    unsaid = slot("A1", "curl", {"count": count, "reps_low": 8}, rest_s=300)
    said = lift("A2", "curl", 4 if count == 4 else 10)
    analysis = analysed({"days": [day(1, unsaid, said)]})
    found = reading(analysis, "weekly_sets", "biceps")
    assert (found.verdict, found.reason) == ("not_judged", f"The effort of {count} more sets {REASON}")
    assert told(analysis, "weekly_sets_low", "weekly_sets_high") == []


def test_halves_of_sets_are_told_without_needless_zeros():
    # Six sets of bench press without an effort: halves for the triceps, beside three that are said.
    unsaid = slot("A1", "bench-press", {"count": 6, "reps_low": 8}, rest_s=300)
    analysis = analysed({"days": [day(1, unsaid, lift("A2", "bench-press", 6))]})
    assert reading(analysis, "weekly_sets", "triceps").reason == f"The effort of 3 more sets {REASON}"


def test_a_deload_week_is_held_against_no_range():
    analysis = analysed(
        {"days": [day(1, lift("A1", "curl", 6))]}, {"deload": True, "days": [day(1, lift("A1", "curl", 3))]}
    )
    assert told(analysis, "weekly_sets_low") == []
    assert reading(analysis, "weekly_sets", "biceps", week=1).reason == "A deload week is held against no range."


def test_pushes_more_than_twice_the_pulls_are_noted():
    analysis = analysed({"days": [day(1, lift("A1", "bench-press", 9), lift("B1", "pull-up", 4))]})
    (finding,) = told(analysis, "push_pull_balance")
    assert (finding.severity, finding.figure, finding.bound, finding.unit) == ("note", 9, 8, "sets")
    assert "9 pushing sets stand against 4 pulling ones" in finding.message
    assert finding.source.startswith("Practice")
    assert reading(analysis, "push_pull").figure == Decimal("2.25")


def test_twice_as_many_is_within_the_balance():
    analysis = analysed({"days": [day(1, lift("A1", "bench-press", 8), lift("B1", "pull-up", 4))]})
    assert told(analysis, "push_pull_balance") == []


def test_a_side_that_is_missing_is_said_and_has_no_ratio():
    analysis = analysed({"days": [day(1, lift("A1", "back-squat", 10))]})
    (finding,) = told(analysis, "knee_hip_balance")
    assert "10 knee-dominant sets stand against 0 hip-dominant ones" in finding.message
    found = reading(analysis, "knee_hip")
    assert (found.figure, found.verdict, found.reason) == (None, "over", "No hip-dominant sets.")


def test_pulls_against_no_pushes_are_under_the_balance():
    analysis = analysed({"days": [day(1, lift("A1", "pull-up", 10))]})
    assert reading(analysis, "push_pull").verdict == "under"
    assert "10 pulling sets stand against 0 pushing ones" in told(analysis, "push_pull_balance")[0].message


def test_a_handful_of_sets_is_too_few_to_weigh():
    analysis = analysed({"days": [day(1, lift("A1", "back-squat", 9))]})
    assert told(analysis, "knee_hip_balance") == []
    assert reading(analysis, "knee_hip").verdict == "not_judged"


def test_time_under_tension_is_given_and_said_to_have_no_published_range():
    analysis = analysed({"days": [day(1, lift("A1", "curl", 6, tempo="3010"))]})
    found = reading(analysis, "time_under_tension")
    # 6 sets of 8 repetitions of 4 s.
    assert (found.figure, found.unit, found.verdict) == (192, "s", "not_judged")
    assert "published" in found.reason


def test_each_week_says_what_it_changes_from_the_working_week_before():
    analysis = analysed(
        {"days": [day(1, lift("A1", "bench-press", 4))]},
        {"deload": True, "days": [day(1, lift("A1", "bench-press", 2))]},
        {"days": [day(1, lift("A1", "bench-press", 5))]},
    )
    first, deload, third = analysis.weeks
    assert (first.compared_with, first.changes) == (None, ())
    assert deload.compared_with == third.compared_with == 1
    assert [str(change) for change in deload.changes] == [
        "Week: working week → deload",
        "Bench press: 4x8, RPE 8 → 2x8, RPE 8",
    ]
    assert [str(change) for change in third.changes] == ["Bench press: 4x8, RPE 8 → 5x8, RPE 8"]


def test_an_equal_week_changes_nothing():
    week = {"days": [day(1, lift("A1", "bench-press", 4))]}
    assert analysed(week, week).weeks[1].changes == ()
