"""What a cell of an exported sheet says, and what a spreadsheet makes of it."""

import csv
import io
import zipfile
from decimal import Decimal
from typing import Any

import openpyxl
import pytest

from coaching.exports.archive import Archive
from coaching.exports.cells import FORMULA_STARTS, cell

FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\0=1", "＝1", "＋1", "－1", "＠A1"]  # noqa: RUF001 -- full-width twins
BEHIND_SPACES = ["  =1+1", "\u00a0＝1", "\n@A1"]  # noqa: RUF001 -- a full-width twin


@pytest.mark.parametrize("text", [*FORMULAS, *BEHIND_SPACES])
def test_a_text_that_would_be_a_formula_begins_with_an_apostrophe(text: str) -> None:
    assert text[0] in FORMULA_STARTS or text.strip()[0] in FORMULA_STARTS
    assert cell(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "Anna", "a=b", "3-2", "'quoted", "|pipe"])
def test_any_other_text_stays_as_it_is(text: str) -> None:
    assert cell(text) == text


def test_numbers_stay_numbers_negative_ones_too() -> None:
    assert [cell(value) for value in (-5, Decimal("-0.50"), True, None)] == [-5, "-0.50", "true", ""]


def test_sheets_are_read_back_by_csv_and_taken_as_text_by_a_spreadsheet() -> None:
    rows: list[tuple[Any, ...]] = [("=1+1", 'say "no", now\nor never', -5), ("＝2", "Zoë", 7)]  # noqa: RUF001 -- a full-width twin
    file = io.BytesIO()
    with Archive(file, title="A test.", about={"kind": "test"}) as archive:
        archive.begin("words", ("formula", "text", "number"))
        archive.add(rows)
    text = zipfile.ZipFile(file).read("words.csv").decode("utf-8-sig")
    read = list(csv.reader(io.StringIO(text, newline="")))
    assert read == [["formula", "text", "number"], ["'=1+1", rows[0][1], "-5"], ["'＝2", "Zoë", "7"]]  # noqa: RUF001 -- a full-width twin
    book = openpyxl.Workbook()
    for line in read:
        book.active.append(line)
    saved = io.BytesIO()
    book.save(saved)
    cells = [one for line in openpyxl.load_workbook(saved).active.iter_rows() for one in line]
    assert {one.data_type for one in cells} == {"s"}
    assert [[one.value for one in line] for line in book.active.iter_rows()] == read
