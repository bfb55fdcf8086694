"""Numbers, durations and dates as people write them: what each is read as, or why not."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal

import pytest

from logs.imports.dates import DateError, read_date, read_time
from logs.imports.quantities import QuantityError, added_load, metres, number, seconds, with_unit


@pytest.mark.parametrize(
    ("text", "mark", "value"),
    [
        ("80", ".", "80"),
        ("82.5", ".", "82.5"),
        ("1,250.5", ".", "1250.5"),
        ("1 250,5", ",", "1250.5"),
        ("1.250,5", ",", "1250.5"),
        (".5", ".", "0.5"),
        ("-20", ".", "-20"),
        ("\u221220", ".", "-20"),
    ],
)
def test_a_number_is_read_with_its_mark(text, mark, value):
    assert number(text, mark) == Decimal(value)


@pytest.mark.parametrize(
    ("text", "mark"),
    [("82,5", "."), ("82.5", ","), ("1,25,0", "."), ("five", "."), ("1e5", "."), ("٣", "."), (True, ".")],
)
def test_what_is_no_number_in_this_mark_is_refused(text, mark):
    with pytest.raises(QuantityError) as refused:
        number(text, mark)
    assert refused.value.code == "not_a_number"


def test_a_unit_behind_a_number_is_read_and_an_unknown_one_refused():
    assert with_unit("185 lbs", ".") == (Decimal(185), "lb")
    assert with_unit("80kg", ".") == (Decimal(80), "kg")
    with pytest.raises(QuantityError, match="kg or lb"):
        with_unit("12 stone", ".")


@pytest.mark.parametrize(
    ("text", "added"), [("BW", ""), ("bodyweight", ""), ("BW + 10", "+10"), ("bw-20", "-20"), ("80", None)]
)
def test_bodyweight_and_what_is_added_to_it(text, added):
    assert added_load(text) == added


@pytest.mark.parametrize(
    ("cell", "unit", "value"),
    [
        ("1:30", None, 90),
        ("1:02:03", None, 3723),
        ("90", "s", 90),
        ("1.5", "min", 90),
        ("45 s", None, 45),
        ("2 min", None, 120),
        ("1h 5m", None, 3900),
        (time(0, 1, 30), None, 90),
        (timedelta(seconds=75), None, 75),
        ("90", None, None),
    ],
)  # fmt: skip
def test_durations(cell, unit, value):
    assert seconds(cell, ".", unit, of_a_set=True) == value


def test_a_spreadsheets_hours_are_not_taken_for_a_sets_minutes():
    with pytest.raises(QuantityError) as refused:
        seconds(time(1, 30), ".", None, of_a_set=True)
    assert refused.value.code == "hours_for_minutes"
    assert seconds(time(1, 30), ".", None, of_a_set=False) == 5400


@pytest.mark.parametrize(("unit", "value"), [("m", "2.00"), ("km", "2000.00"), ("mi", "3218.69"), ("yd", "1.83")])
def test_distances_in_metres(unit, value):
    assert metres(Decimal(2), unit) == Decimal(value)


@pytest.mark.parametrize(
    ("cell", "order", "day", "at"),
    [
        ("2026-03-04", None, date(2026, 3, 4), None),
        ("2026/3/4", None, date(2026, 3, 4), None),
        ("2026-03-04T18:30", None, date(2026, 3, 4), time(18, 30)),
        ("2026-03-04 18:30:05", None, date(2026, 3, 4), time(18, 30, 5)),
        ("03/04/2026", "dmy", date(2026, 4, 3), None),
        ("03/04/2026", "mdy", date(2026, 3, 4), None),
        ("3.4.26", "dmy", date(2026, 4, 3), None),
        ("03/04/2026 6:30 PM", "mdy", date(2026, 3, 4), time(18, 30)),
        ("03/04/2026", None, None, None),
        ("4 Mar 2026", None, date(2026, 3, 4), None),
        ("04-Mar-26", None, date(2026, 3, 4), None),
        ("March 4, 2026", None, date(2026, 3, 4), None),
        ("Wed, 4 March 2026", None, date(2026, 3, 4), None),
        ("Sept 4th 2026", None, date(2026, 9, 4), None),
        (datetime(2026, 3, 4), None, date(2026, 3, 4), None),
        (datetime(2026, 3, 4, 18, 30), None, date(2026, 3, 4), time(18, 30)),
        (date(2026, 3, 4), None, date(2026, 3, 4), None),
    ],
)
def test_dates(cell, order, day, at):
    assert read_date(cell, order) == (day, at)


@pytest.mark.parametrize(
    ("cell", "order", "code"),
    [
        ("31/02/2026", "dmy", "not_a_date"),
        ("03/13/2026", "dmy", "not_a_date"),
        ("yesterday", None, "not_a_date"),
        (Decimal(46085), None, "not_a_date"),
        ("1926-03-04", None, "too_early"),
        ("2026-03-04T18:30:00Z", None, "offset_in_time"),
        ("2026-03-04 25:00", None, "not_a_time"),
        ("9999-99-99", None, "not_a_date"),
    ],
)
def test_what_is_no_date_is_refused(cell, order, code):
    with pytest.raises(DateError) as refused:
        read_date(cell, order)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("cell", "at"),
    [("18:30", time(18, 30)), ("6:30 pm", time(18, 30)), ("12:05 AM", time(0, 5)), ("18h30", time(18, 30))],
)
def test_times_of_day(cell, at):
    assert read_time(cell) == at
