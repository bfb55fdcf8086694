"""Check-ins against the person's own: items, own questions, heart, weight, and what care or silence leaves out."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from coaching.measures.local_calendar import DateSpan
from coaching.screening.form_questions import Question
from logs.analysis.bodyweight_trend import bodyweight_trend
from logs.analysis.check_in_scales import CheckInEntry
from logs.analysis.check_in_summary import check_in_summary
from tests.coaching.measures.test_baselines import TODAY, daily

MOOD = Question(key="mood", text="Mood?", kind="scale", minimum=1, maximum=5, direction="higher_is_better")
WORDS = Question(key="words", text="Words?", kind="text")
FORM = {
    ("f", 1): [MOOD],
    ("f", 2): [Question(**{**{f: getattr(MOOD, f) for f in MOOD.__slots__}, "text": "So?"}), WORDS],
}


def entry(days_ago: int, **fields: object) -> CheckInEntry:
    return CheckInEntry(local_date=TODAY - timedelta(days=days_ago), **fields)


def slept(*values: int, until: int = 0) -> list[CheckInEntry]:
    return [entry(until + offset, sleep=value) for offset, value in enumerate(reversed(values))]


def summed(entries, questions=None, **more):
    return check_in_summary(entries, questions or {}, today=TODAY, **{"days": 28, **more})


def sleep_of(found):
    return found.items[0]


def test_an_item_is_scored_against_the_days_before():
    found = sleep_of(summed(slept(*[2, 4] * 7, 6)))
    assert (found.name, found.score.value, found.score.baseline.n, found.score.baseline.mean) == ("sleep", 6, 14, 3)
    assert found.worse_by_sd == found.score.z == pytest.approx(2.891, abs=0.001)
    assert len(found.days) == 15


def test_an_item_that_was_not_answered_lately_has_no_entry():
    found = sleep_of(summed(slept(*[3] * 20, until=10), days=7))
    assert (found.score.value, found.score.reason, found.days) == (None, "no_entry", ())


def test_the_sum_is_of_days_with_all_four():
    whole = entry(0, sleep=1, fatigue=2, stress=3, soreness=4)
    found = summed([whole, entry(1, sleep=1, fatigue=2)]).wellness_sum
    assert [day.value for day in found.days] == [10]


def test_two_check_ins_of_a_day_are_averaged_in_whatever_order():
    entries = [entry(0, sleep=2), entry(0, sleep=5)]
    assert sleep_of(summed(entries)).score == sleep_of(summed(entries[::-1])).score
    assert sleep_of(summed(entries)).score.value == 3.5


def test_weekly_answers_are_compared_with_weekly_ones():
    found = sleep_of(summed([entry(7 * week, sleep=2 + week % 2) for week in range(7)]))
    assert (found.cadence, found.cadence_from, found.score.reason) == ("weekly", "gaps", "known")


def test_a_form_says_how_often_it_is_answered():
    entries = [entry(day, sleep=3, form_id="f", form_version=1, form_cadence="weekly") for day in range(7)]
    found = sleep_of(summed(entries))
    assert (found.cadence, found.cadence_from) == ("weekly", "form")


def test_days_of_absence_are_no_part_of_the_baseline():
    ill = DateSpan(TODAY - timedelta(days=5), TODAY - timedelta(days=3))
    entries = [*slept(*[3, 4] * 8, until=6), *slept(7, 7, 7, until=3), entry(0, sleep=3)]
    found = summed(entries, away=[ill])
    assert (sleep_of(found).score.baseline.n, sleep_of(found).score.baseline.mean, found.away_days) == (16, 3.5, 3)


def test_a_days_entries_to_come_are_left_out():
    assert sleep_of(summed([entry(-1, sleep=7), entry(0, sleep=3)])).score.value == 3


def test_a_question_where_higher_is_better_is_turned():
    moods = [entry(day, form_id="f", form_version=1, answers={"mood": 2 + day % 2}) for day in range(1, 15)]
    today = entry(0, form_id="f", form_version=2, answers={"mood": 1, "words": "tired"})
    found = summed([*moods, today], FORM)
    (mood,) = found.questions
    assert (mood.text, mood.form_id, mood.score.value) == ("So?", "f", 1)
    assert mood.worse_by_sd == -mood.score.z > 2
    (said,) = found.words
    assert (said.key, said.text, said.answer, said.form_version) == ("words", "Words?", "tired", 2)


def test_a_question_without_direction_is_not_turned():
    number = Question(key="steps", text="Steps?", kind="number")
    entries = [entry(day, form_id="f", form_version=1, answers={"steps": 8000 + 10 * day}) for day in range(15)]
    (steps,) = summed(entries, {("f", 1): [number]}).questions
    assert steps.score.z is not None
    assert steps.worse_by_sd is None


@pytest.mark.parametrize("group", ["heart_rate_medicine", "pregnant"])
def test_heart_rate_is_switched_off_for_care(group):
    found = summed([entry(0, resting_hr_bpm=60, hrv_rmssd_ms=Decimal(50))], care_groups=[group])
    assert (found.resting_heart_rate, found.heart_rate_variability) == (None, None)
    assert "RPE" in found.heart_rate_off


@pytest.mark.parametrize("group", ["eating_disorder_history", "minor"])
def test_bodyweight_is_switched_off_for_care_and_heart_rate_is_not(group):
    found = summed([entry(0, resting_hr_bpm=60, bodyweight_kg=Decimal(60))], care_groups=[group])
    assert found.bodyweight is None
    assert found.bodyweight_off
    assert found.resting_heart_rate.n == 1


def test_a_rate_of_bodyweight_needs_eight_weigh_ins_of_three_weeks():
    seven = bodyweight_trend(daily(*[80.0] * 20, *[81.0] * 7, until=0), TODAY)
    assert seven.rate_n == 21
    few = bodyweight_trend([*daily(*[80.0] * 20, until=30), *daily(*[81.0] * 7, until=0)], TODAY)
    assert (few.n, few.rate_n, few.kg_per_week, few.reason) == (27, 7, None, "too_few_entries")
    assert few.mean_kg is not None


def test_a_steady_loss_is_told_per_week_and_in_percent():
    found = bodyweight_trend(daily(*[80 - 0.1 * day for day in range(21)], until=0), TODAY)
    assert found.kg_per_week == pytest.approx(-0.7, abs=1e-6)
    assert found.low_kg_per_week <= found.kg_per_week <= found.high_kg_per_week
    assert found.pct_per_week == pytest.approx(100 * -0.7 / 79, abs=1e-4)


def test_nobody_weighed_has_no_entry():
    assert bodyweight_trend([], TODAY).reason == "no_entry"
    assert bodyweight_trend(daily(80.0, until=90), date(2031, 3, 20)).reason == "no_entry"
