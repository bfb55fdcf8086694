"""The same session again: work a minute, and time at equal work."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from logs.analysis.capacity_comparison import compare_latest
from logs.analysis.work_capacity import (
    Occurrence,
    SessionWork,
    known_minutes,
    recent_density,
    work_difference,
    work_unit,
)

DAY = date(2031, 3, 4)


def work(tonnage="2000", reps="60", **more):
    return SessionWork(tonnage_kg=None if tonnage is None else Decimal(tonnage), repetitions=Decimal(reps), **more)


def done(*sessions):
    return [
        Occurrence(
            planned_session=str(number),
            local_date=DAY + timedelta(weeks=number),
            work=one,
            minutes=None if minutes is None else Decimal(minutes),
            deload=bool(deload),
        )
        for number, (one, minutes, *deload) in enumerate(sessions)
    ]


def test_the_same_session_in_less_time_is_told_with_its_counts():
    found = compare_latest(done((work(), 42), (work("2050"), "38.2")))
    assert (found.verdict, found.sessions, found.change_ratio) == ("at_equal_work", 2, Decimal("-0.090476"))
    assert found.sentence == (
        "Same session, 9 % less time (38.2 against 42 min) with 2 % more tonnage; 2 sessions compared."
    )


def test_a_little_less_work_is_said_beside_a_little_less_time():
    found = compare_latest(done((work(), 40), (work("1920", "58"), "38.4")))
    assert found.sentence == (
        "Same session, 4 % less time (38.4 against 40 min) with 4 % less tonnage; 2 sessions compared."
    )


def partly(known, sets, reps="60"):
    return SessionWork(
        tonnage_kg=None, repetitions=Decimal(reps), known_tonnage_kg=Decimal(known), unknown_load_sets=sets
    )


def test_where_some_loads_are_unknown_the_known_ones_must_still_be_equal():
    found = compare_latest(done((partly("2000", 4), 40), (partly("2400", 4), 44)))
    assert found.verdict == "not_at_equal_work"
    assert found.sentence.startswith("Not at equal work: 20 % more tonnage than on")
    alike = compare_latest(done((partly("2000", 4), 40), (partly("2010", 4), 44)))
    assert alike.sentence == (
        "Much the same repetitions, and tonnage where loads are known, 10 % more time (44 against 40 min); "
        "2 sessions compared."
    )


def test_loads_known_of_other_sets_are_not_called_the_same_session():
    found = compare_latest(done((partly("2000", 4), 40), (partly("2900", 1), 44)))
    assert found.sentence == (
        "Much the same repetitions, though loads are not known of the same sets, 10 % more time (44 against 40 min); "
        "2 sessions compared."
    )


def test_at_most_three_earlier_ones_are_the_yardstick_and_their_median_counts():
    found = compare_latest(done((work(), 90), (work(), 40), (work(), 50), (work(), 42), (work(), 44)))
    assert (found.sessions, found.earlier_minutes) == (4, 42)
    assert "5 % more time" in found.sentence
    assert "about the same time" in compare_latest(done((work(), 42), (work(), 43))).sentence


def test_unlike_work_is_said_and_no_times_are_compared():
    found = compare_latest(done((work(), 42), (work(reps="67"), 40)))
    assert (found.verdict, found.change_ratio, found.sessions) == ("not_at_equal_work", None, 0)
    assert found.sentence == ("Not at equal work: 12 % more repetitions than on 2031-03-04, so times are not compared.")


def test_an_earlier_equal_session_is_found_behind_an_unequal_one():
    found = compare_latest(done((work(), 42), (work("3000"), 50), (work(), 40)))
    assert (found.verdict, found.sessions, found.earlier_minutes) == ("at_equal_work", 2, 42)


@pytest.mark.parametrize(
    ("latest", "earlier", "unit"),
    [
        (work("2100"), work("2000"), None),
        (work("2101"), work("2000"), "tonnage_kg"),
        (work("1899"), work("2000"), "tonnage_kg"),
        (work(None), work("9000"), None),
        (work(metres=Decimal(500)), work(), "metres"),
        (work(), work(metres=Decimal(500)), "metres"),
        (work("2200", "90"), work("2000", "60"), "repetitions"),
    ],
)
def test_work_is_equal_within_a_twentieth_in_every_unit_that_both_know(latest, earlier, unit):
    difference = work_difference(latest, earlier)
    assert (difference and difference.unit) == unit


@pytest.mark.parametrize(
    ("sessions", "verdict"),
    [
        ([(work(), 42)], "nothing_earlier"),
        ([(work(), 42), (work(), 40, "deload")], "deload"),
        ([(work(), 42, "deload"), (work(), 40)], "nothing_earlier"),
        ([(work(), 42), (work(), None)], "minutes_unknown"),
        ([(work(), None), (work(), 40)], "minutes_unknown"),
        ([(work(), 42), (work("0", "0"), 40)], "work_unknown"),
        ([(work("2000", "0"), 42), (work(None, "60"), 40)], "not_at_equal_work"),
    ],
)
def test_what_cannot_be_compared_says_why(sessions, verdict):
    found = compare_latest(done(*sessions))
    assert (found.verdict, found.change_ratio) == (verdict, None)
    assert found.sentence


def test_density_is_told_in_one_unit_and_deloads_stay_out():
    sessions = done((work(), 40), (work(), 50), (work("900"), 10, "deload"), (work(), 20), (work(), 25), (work(), None))
    assert work_unit(sessions) == "tonnage_kg"
    assert [one.density("tonnage_kg") for one in sessions[:2]] == [50, 40]
    assert recent_density(sessions, "tonnage_kg") == (Decimal(80), 3)
    assert work_unit(done((work(None), 40))) == "repetitions"
    assert work_unit(done((SessionWork(metres=Decimal(2000)), 10))) == "metres"
    assert (work_unit(done((SessionWork(), 10))), work_unit([])) == (None, None)


def test_minutes_of_several_logs_add_up_only_when_all_are_known():
    assert known_minutes([Decimal(20), Decimal("5.5")]) == Decimal("25.5")
    assert known_minutes([Decimal(20), None]) is None
    assert known_minutes([]) is None
