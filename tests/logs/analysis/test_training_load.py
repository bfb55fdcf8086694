"""Load by day and week: unknown days are never rest, and a figure that rests on too little is not given."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from coaching.measures.local_calendar import DateSpan
from logs.analysis.facts import PlannedFact, SessionFact
from logs.analysis.load_days import LoadDay, PlannedWindow, load_series, planned_days
from logs.analysis.training_load import load_comparison, load_span, load_weeks
from logs.analysis.weighted_load import weighted_load

MONDAY = date(2031, 3, 3)


def day(offset: int, load: int | None) -> LoadDay:
    kind = "unknown" if load is None else ("trained" if load else "rest")
    known = None if load is None else Decimal(load)
    return LoadDay(
        local_date=MONDAY + timedelta(days=offset), kind=kind, load=known, sessions=int(bool(load)), minutes=known
    )


def days(*loads: int | None) -> list[LoadDay]:
    return [day(offset, load) for offset, load in enumerate(loads)]


def session(local_date: date = MONDAY, **more: object) -> SessionFact:
    facts = {"session_rpe": Decimal(6), "duration_min": Decimal(50), **more}
    return SessionFact(session_id="s", local_date=local_date, **facts)


def only(*sessions: SessionFact, planned: tuple[PlannedFact, ...] = ()) -> LoadDay:
    return load_series([MONDAY], sessions, planned)[0]


def test_a_days_sessions_are_summed():
    found = only(session(), session(session_rpe=Decimal(3), duration_min=Decimal(20)))
    assert (found.kind, found.load, found.sessions, found.minutes) == ("trained", Decimal(360), 2, Decimal(70))


def test_a_day_without_plan_or_log_is_rest():
    found = only()
    assert (found.kind, found.load, found.unknown) == ("rest", Decimal(0), ())


@pytest.mark.parametrize("state", ["planned", "missed"])
def test_a_planned_session_without_a_log_makes_the_day_unknown(state):
    found = only(planned=(PlannedFact(local_date=MONDAY, state=state),))
    assert (found.kind, found.load, found.unknown) == ("unknown", None, ("planned_not_logged",))


def test_an_excused_session_leaves_a_rest_day():
    assert only(planned=(PlannedFact(local_date=MONDAY, state="excused"),)).kind == "rest"


@pytest.mark.parametrize(
    ("facts", "unknown"),
    [
        ({"session_rpe": None}, ("rating_unknown",)),
        ({"duration_min": None}, ("minutes_unknown",)),
        ({"duration_min": Decimal(181)}, ("minutes_unknown",)),
        ({"duration_min": None, "session_rpe": None}, ("minutes_unknown", "rating_unknown")),
    ],
)
def test_a_session_without_rating_or_believable_minutes_makes_the_day_unknown(facts, unknown):
    found = only(session(), session(**facts))
    assert (found.kind, found.load, found.sessions, found.unknown) == ("unknown", None, 2, unknown)


def test_a_week_with_an_unknown_day_has_a_total_of_what_is_known_and_no_monotony():
    found = load_span(days(300, 0, None, 0, 200, 0, 0))
    assert (found.total, found.days_unknown, found.monotony, found.strain) == (500, 1, None, None)
    assert found.reason == "unknown_days"


def test_a_week_that_is_not_over_has_no_monotony():
    found = load_span(days(300, 0, 200, 0, 0, 0, 0), complete=False)
    assert (found.monotony, found.reason) == (None, "not_complete")


def test_a_span_is_seven_days():
    with pytest.raises(ValueError, match="seven days"):
        load_span(days(1, 2, 3))


def test_weeks_start_on_the_business_weekday_and_only_whole_ones_are_complete():
    found = load_weeks(days(*[100] * 16)[2:], week_start_of=MONDAY, as_of=MONDAY + timedelta(days=15))
    assert [(week.first, week.complete) for week in found] == [
        (MONDAY, False),
        (MONDAY + timedelta(days=7), True),
        (MONDAY + timedelta(days=14), False),
    ]


def test_a_week_whose_last_day_is_not_over_is_not_complete():
    found = load_weeks(days(*[100] * 14), week_start_of=MONDAY, as_of=MONDAY + timedelta(days=12))
    assert [week.complete for week in found] == [True, False]


def weeks(*totals: int | None):
    loads = [load for total in totals for load in (total, 0, 0, 0, 0, 0, 0)]
    return load_weeks(days(*loads), week_start_of=MONDAY, as_of=MONDAY + timedelta(days=len(loads)))


def test_a_week_is_described_against_the_latest_six_of_the_persons_own():
    found = load_comparison(weeks(100, 900, 1000, 1100, 1200, 1300, 1400, 1375))
    assert (found.n, found.median, found.low, found.high) == (6, 1150, 900, 1400)
    assert (found.own_weeks, found.share_below) == (7, Decimal("0.857143"))
    assert found.change_pct == Decimal("19.565217")


def test_weeks_with_an_unknown_day_are_left_out_and_counted():
    found = load_comparison(weeks(900, 1000, None, 1100, 1200, 1000))
    assert (found.n, found.weeks_left_out, found.median, found.reason) == (4, 1, 1050, "known")


def test_under_four_known_weeks_nothing_is_compared():
    found = load_comparison(weeks(900, None, 1100, 1200, 1000))
    assert (found.reason, found.n, found.median, found.total) == ("too_few_weeks", 3, None, 1000)


def test_a_week_with_an_unknown_day_is_not_compared():
    found = load_comparison(weeks(900, 1000, 1000, 1100, 1200, None))
    assert (found.reason, found.total) == ("week_not_known", None)


def test_without_a_complete_week_nothing_is_compared():
    assert load_comparison([]).reason == "no_complete_week"


def test_weighted_means_are_shown_from_28_days_on():
    assert weighted_load(days(*[50] * 27)).reason == "under_28_days"
    found = weighted_load(days(*[50] * 28))
    assert (found.reason, found.acute, found.chronic, found.ratio) == ("known", 50, 50, 1)
    assert list(found.daily) == [MONDAY + timedelta(days=27)]


def test_on_an_unknown_day_the_means_stay_and_the_day_is_counted():
    known = weighted_load(days(*[50] * 28))
    found = weighted_load(days(*[50] * 28, None))
    assert (found.acute, found.chronic) == (known.acute, known.chronic)
    assert (found.days_unknown, found.days_unknown_of_last_28) == (1, 1)


def test_over_seven_unknown_days_of_28_there_is_no_mean():
    half = [None, 50] * 7
    assert weighted_load(days(*[50] * 21, *half)).reason == "known"
    found = weighted_load(days(*[50] * 21, *half, None, 50))
    assert (found.reason, found.acute, found.ratio, found.days_unknown_of_last_28) == (
        "too_many_unknown_days",
        None,
        None,
        8,
    )


def test_unknown_days_before_the_first_known_one_are_no_history():
    assert weighted_load(days(*[None] * 5, *[50] * 27)).history_days == 27


def test_nothing_logged_and_nothing_but_rest_have_no_ratio():
    assert weighted_load([]).reason == "nothing_logged"
    found = weighted_load(days(*[0] * 28))
    assert (found.reason, found.chronic, found.ratio) == ("no_load", 0, None)


def test_where_more_sessions_are_unlogged_than_done_there_is_no_mean_of_the_rest_days_between():
    trained, missed = [300, 0, 300, 0, 300, 0, 0], [None, 0, None, 0, None, 0, 0]
    silent = weighted_load(days(*trained * 4, *missed))
    assert (silent.reason, silent.acute, silent.ratio) == ("too_many_unknown_days", None, None)
    assert MONDAY + timedelta(days=34) not in silent.daily
    one_of_three = weighted_load(days(*trained * 4, None, 0, 300, 0, 300, 0, 0))
    assert (one_of_three.reason, one_of_three.days_unknown_of_last_28) == ("known", 1)


def floating(*states: str) -> list[PlannedWindow]:
    end = MONDAY + timedelta(days=6)
    return [PlannedWindow(local_date=end, window_start=MONDAY, window_end=end, state=state) for state in states]


def week_of(planned: list[PlannedFact], *trained: int) -> list[str]:
    dates = [MONDAY + timedelta(days=offset) for offset in range(7)]
    return [one.kind for one in load_series(dates, [session(dates[offset]) for offset in trained], planned)]


def test_each_missed_session_of_a_floating_week_makes_a_day_of_it_unknown():
    trained = {MONDAY, MONDAY + timedelta(days=6)}
    planned = planned_days(floating("done", "missed", "missed"), trained)
    assert week_of(planned, 0, 6) == ["trained", "rest", "rest", "rest", "unknown", "unknown", "trained"]


def test_a_floating_session_that_may_still_be_done_is_unknown_on_its_last_day_alone():
    assert week_of(planned_days(floating("planned"), {MONDAY}), 0) == ["trained", *["rest"] * 5, "unknown"]


def test_a_missed_session_of_a_day_of_its_own_stays_there():
    fixed = [PlannedWindow(local_date=MONDAY, window_start=MONDAY, window_end=MONDAY, state="missed")]
    assert week_of(planned_days(fixed, {MONDAY}), 0)[0] == "unknown"


def test_weeks_with_an_absence_are_neither_compared_nor_compared_with():
    history = weeks(700, 0, 700, 700, 700, 700, 700, 350)
    ill = history[1].first
    found = load_comparison(history, away=[DateSpan(ill, ill)])
    assert (found.n, found.low, found.weeks_left_out, found.own_weeks) == (5, 700, 1, 6)
    last = history[-1].last
    assert load_comparison(history, away=[DateSpan(last, None)]).reason == "week_away"
