"""Low wellness and a raised resting heart rate: never from one item on one day, never from old answers."""

from datetime import timedelta

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.check_in_scales import CheckInEntry
from logs.analysis.wellness_flags import low_wellness_state, resting_heart_rate_state
from tests.coaching.measures.test_baselines import TODAY

ITEMS = ("sleep", "fatigue", "stress", "soreness")


def said(days_ago: int, sleep: int = 3, fatigue: int = 3, stress: int = 3, soreness: int = 3) -> CheckInEntry:
    day = TODAY - timedelta(days=days_ago)
    return CheckInEntry(local_date=day, sleep=sleep, fatigue=fatigue, stress=stress, soreness=soreness)


USUAL = [said(days, *[2 + days % 2 * 2] * 4) for days in range(2, 30)]


def pulse(*bpm: int, until: int = 0) -> list[CheckInEntry]:
    return [
        CheckInEntry(local_date=TODAY - timedelta(days=until + offset), resting_hr_bpm=one)
        for offset, one in enumerate(reversed(bpm))
    ]


def test_one_item_on_one_day_opens_nothing():
    assert not low_wellness_state([*USUAL, said(1), said(0, sleep=5)], TODAY).holds


def test_two_items_at_once_are_low_wellness():
    found = low_wellness_state([*USUAL, said(1), said(0, sleep=5, stress=5)], TODAY)
    assert (found.holds, found.severity, found.figures["items"]) == (True, "watch", ["sleep", "stress"])
    assert "sleep 5 of 7" in found.sentence
    assert found.caution


def test_one_item_twice_running_is_low_wellness():
    found = low_wellness_state([*USUAL, said(1, sleep=5), said(0, sleep=6)], TODAY)
    assert (found.holds, found.figures["items"]) == (True, ["sleep"])


def test_two_items_on_two_days_are_not_two_at_once():
    assert not low_wellness_state([*USUAL, said(1, stress=5), said(0, sleep=5)], TODAY).holds


def test_six_twice_running_counts_without_any_baseline():
    assert low_wellness_state([said(1, soreness=6), said(0, soreness=7)], TODAY).holds
    assert not low_wellness_state([said(1, soreness=5), said(0, soreness=7)], TODAY).holds
    assert not low_wellness_state([said(0, soreness=7)], TODAY).holds


@pytest.mark.parametrize(("days", "holds"), [(2, True), (3, False)])
def test_old_answers_say_nothing_of_today(days, holds):
    entries = [said(days + 1, sleep=6), said(days, sleep=6)]
    assert low_wellness_state(entries, TODAY).holds is holds


@pytest.mark.parametrize(("gap", "holds"), [(7, True), (8, False)])
def test_an_answer_long_before_is_not_running_with_the_latest(gap, holds):
    usual = [said(days, *[2 + days % 2 * 2] * 4) for days in range(9, 27)]
    assert low_wellness_state([*usual, said(gap, soreness=6), said(0, soreness=6)], TODAY).holds is holds
    assert low_wellness_state([*usual, said(gap, sleep=6), said(0, sleep=5)], TODAY).holds is holds


def test_one_weekly_form_may_lie_between_answers_that_are_running():
    weeks = [said(7 * week, *[2 + week % 2 * 2] * 4) for week in range(3, 11)]
    assert low_wellness_state([*weeks, said(14, soreness=6), said(0, soreness=6)], TODAY).holds
    longer = [said(7 * week, *[2 + week % 2 * 2] * 4) for week in range(5, 13)]
    assert not low_wellness_state([*longer, said(28, soreness=6), said(0, soreness=6)], TODAY).holds


def test_weekly_answers_are_heard_for_longer_and_against_weekly_ones():
    weeks = [said(7 * week + 5, *[2 + week % 2 * 2] * 4) for week in range(1, 9)]
    found = low_wellness_state([*weeks, said(5, sleep=6, fatigue=6)], TODAY)
    assert (found.holds, found.figures["cadence"]) == (True, "weekly")


def test_answers_of_an_absence_are_left_out():
    ill = DateSpan(TODAY - timedelta(days=1), TODAY)
    assert not low_wellness_state([*USUAL, said(1, *[7] * 4), said(0, *[7] * 4)], TODAY, [ill]).holds


def test_being_better_than_usual_is_no_flag():
    assert not low_wellness_state([*USUAL, said(1, *[1] * 4), said(0, *[1] * 4)], TODAY).holds


def test_new_answers_are_new_evidence():
    first = low_wellness_state([*USUAL, said(1, sleep=6), said(0, sleep=6)], TODAY)
    again = low_wellness_state([*USUAL, said(1, sleep=6), said(0, sleep=6)], TODAY + timedelta(days=1))
    later = low_wellness_state(
        [*USUAL, said(1, sleep=6), said(0, sleep=6), said(-1, sleep=6)], TODAY + timedelta(days=1)
    )
    assert first.evidence == again.evidence != later.evidence


def test_a_raised_resting_heart_rate_is_told_with_its_baseline():
    entries = [*pulse(*[49, 51] * 14, until=3), *pulse(58, 58, 58)]
    found = resting_heart_rate_state(entries, TODAY)
    assert (found.holds, found.figures["mean_bpm"], found.figures["baseline_bpm"]) == (True, "58.0", "50.0")
    assert "not a diagnosis" in found.caution


def test_a_day_without_a_new_pulse_is_no_new_evidence():
    entries = [*pulse(*[49, 51] * 14, until=3), *pulse(58, 58, 58)]
    tomorrow = resting_heart_rate_state(entries, TODAY + timedelta(days=1))
    assert tomorrow.holds
    assert tomorrow.evidence == resting_heart_rate_state(entries, TODAY).evidence


@pytest.mark.parametrize("group", ["heart_rate_medicine", "pregnant"])
def test_care_switches_the_heart_rate_rule_off(group):
    entries = [*pulse(*[49, 51] * 14, until=3), *pulse(58, 58, 58)]
    found = resting_heart_rate_state(entries, TODAY, care_groups=[group])
    assert not found.holds
    assert "RPE" in found.sentence
