"""Which weeks a program itself makes harder."""

from datetime import date, timedelta

from logs.analysis.planned_builds import PlannedWeek, planned_builds

FIRST = date(2031, 1, 6)


def weeks(*work_sets: int, deloads: tuple[int, ...] = ()) -> list[PlannedWeek]:
    return [
        PlannedWeek(week_start=FIRST + timedelta(days=7 * index), work_sets=sets, deload=index in deloads)
        for index, sets in enumerate(work_sets)
    ]


def builds(*work_sets: int, deloads: tuple[int, ...] = ()) -> list[int]:
    found = planned_builds(weeks(*work_sets, deloads=deloads))
    return sorted((week - FIRST).days // 7 for week in found)


def test_a_week_of_nearly_a_third_more_sets_is_a_build():
    assert builds(20, 20, 26) == [2]
    assert builds(20, 20, 25) == []


def test_the_week_after_a_deload_is_compared_with_the_weeks_before_it():
    assert builds(20, 20, 10, 21, deloads=(2,)) == []


def test_a_week_in_which_nothing_was_planned_is_no_week_to_compare_with():
    assert builds(20, 0, 20) == []


def test_only_the_last_six_weeks_count():
    assert builds(*[30] * 7, *[10] * 6, 13) == [13]


def test_the_first_week_is_none():
    assert builds(30) == []
