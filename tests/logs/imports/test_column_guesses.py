"""What headers and cells are taken to mean, and what is left open."""

import pytest

from logs.imports.column_guesses import guessed
from logs.imports.csv_tables import read_csv

ROWS = "2026-03-02,Back squat,80,5,8\n2026-03-04,Bench press,60,8,7.5\n"


def guess(text, **more):
    return guessed(read_csv(text.encode()), **{"one_client": True, **more})


@pytest.mark.parametrize(
    ("headers", "fields"),
    [
        ("Date,Exercise,Weight,Reps,RPE", ["date", "exercise", "load", "reps", "rpe"]),
        ("Training date,Exercise Name,Load (kg),Repetitions,RIR", ["date", "exercise", "load", "reps", "in_reserve"]),
        ("day,lift,weight_kg,rep,Set", ["date", "exercise", "load", "reps", "set_number"]),
        ("DATE,Movement,Kg,REPS,Reps in reserve", ["date", "exercise", "load", "reps", "in_reserve"]),
        ("Date,Exercize,Wieght,Reps,Colour", ["date", "exercise", "load", "reps", None]),
    ],
)
def test_common_headers_are_mapped(headers, fields):
    mapping = guess(f"{headers}\n{ROWS}").mapping
    assert [mapping.columns.get(letter) for letter in "ABCDE"] == fields


def test_set_is_a_number_and_sets_a_count():
    mapping = guess("Date,Exercise,Set,Reps\n2026-03-02,Squat,1,5\n").mapping
    assert mapping.columns["C"] == "set_number"
    assert guess("Date,Exercise,Sets,Reps\n2026-03-02,Squat,3,5\n").mapping.columns["C"] == "set_count"


def test_a_header_whose_cells_don_t_fit_is_offered_but_not_mapped():
    found = guess("Date,Exercise,Weight,Reps\n2026-03-02,Squat,heavy,5\n2026-03-02,Squat,light,5\n2026-03-03,x,7,5\n")
    assert "C" not in found.mapping.columns
    assert [one.field for one in found.columns[2].candidates][:1] == ["load"]


@pytest.mark.parametrize(
    ("header", "cell", "unit"),
    [
        ("Weight (lb)", "185", "lb"),
        ("Weight [kg]", "80", "kg"),
        ("weight_lbs", "185", "lb"),
        ("Weight", "185 lbs", "lb"),
        ("Weight", "80kg", "kg"),
        ("Weight", "80", None),
    ],
)
def test_a_unit_is_what_the_header_or_the_cells_say_and_otherwise_open(header, cell, unit):
    assert guess(f"Date,Exercise,{header},Reps\n2026-03-02,Squat,{cell},5\n").mapping.units.get("load") == unit


@pytest.mark.parametrize(
    ("dates", "order"),
    [
        (("13/04/2026", "01/02/2026"), "dmy"),
        (("04/13/2026", "01/02/2026"), "mdy"),
        (("01/02/2026", "03/04/2026"), None),
        (("13/04/2026", "04/13/2026"), None),
        (("2026-04-13", "2026-01-02"), None),
    ],
)
def test_the_order_of_a_date_is_told_by_its_numbers_or_left_open(dates, order):
    assert guess("Date,Reps\n" + "".join(f"{one},5\n" for one in dates)).mapping.date_order == order


@pytest.mark.parametrize(
    ("cells", "delimiter", "mark"),
    [
        (("82,5", "80"), ";", ","),
        (("1,250", "80"), ";", ","),
        (("1,250", "82.5"), ";", "."),
        (('"1,250"', "80"), ",", "."),
        (('"82,5"', '"80,25"'), ",", ","),
        (("82.5", "80"), ";", "."),
    ],
)
def test_the_decimal_mark_is_what_most_numbers_say(cells, delimiter, mark):
    rows = "".join(f"2026-03-02{delimiter}{cell}\n" for cell in cells)
    assert guess(f"Date{delimiter}Weight\n{rows}").mapping.decimal_mark == mark


def test_without_a_known_client_a_column_of_names_is_the_client():
    text = "Name,Date,Reps\nAnna,2026-03-02,5\n"
    assert guess(text, one_client=False).mapping.columns["A"] == "client"
    assert "A" not in guess(text).mapping.columns
