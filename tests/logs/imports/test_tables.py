"""Files as tables: what is read, and what is refused with a sentence."""

import io
import zipfile
from datetime import date, datetime, time, timedelta
from decimal import Decimal

import openpyxl
import pytest

from logs.imports.constants import MAX_CELL_CHARACTERS, MAX_ROWS, MAX_SIDE_PART_BYTES
from logs.imports.csv_tables import read_csv
from logs.imports.tables import TableError, column_letter, packed, unpacked
from logs.imports.xlsx_tables import read_xlsx


def spreadsheet(*rows, more=()):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for name in more:
        book.create_sheet(name).append(["Date", name])
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def refusal(read, content):
    with pytest.raises(TableError) as refused:
        read(content)
    assert str(refused.value).endswith(".")
    return refused.value.code


@pytest.mark.parametrize(
    ("index", "letter"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")]
)
def test_columns_are_named_as_a_spreadsheet_names_them(index, letter):
    assert column_letter(index) == letter


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "windows-1252"])
def test_text_is_read_in_the_encoding_it_has(encoding):
    table = read_csv("Date,Notes\n2026-03-02,Größe\n".encode(encoding))
    assert table.rows[0].cells == ("2026-03-02", "Größe")
    assert table.encoding == {"utf-8-sig": "utf-8", "utf-16": "utf-16-le"}.get(encoding, encoding)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_the_one_that_divides_rows_alike(delimiter):
    lines = [("Date", "Load", "Notes"), ("2026-03-02", '"82,5"', "felt good, mostly; yes")]
    text = "\n".join(delimiter.join(line if delimiter not in line else f'"{line}"' for line in row) for row in lines)
    table = read_csv(text.replace('""', '"').encode())
    assert table.delimiter == delimiter
    assert len(table.headers) == 3


def test_rows_keep_the_numbers_of_the_file_with_blank_ones_counted_and_quotes_undone():
    table = read_csv(b'\r\nDate,Notes\r\n\r\n2026-03-02,"two ""quick""\r\nlines"\r\n,\r\n2026-03-04,\r\n')
    assert (table.header_row, [row.number for row in table.rows]) == (2, [4, 6])
    assert table.rows[0].cells[1] == 'two "quick"\r\nlines'
    assert table.rows[1].cells == ("2026-03-04", None)


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "no_rows"),
        (b"Date,Reps\n", "no_rows"),
        (b'Date\n"2026', "bad_quotes"),
        (b"Date\n\x00", "not_text"),
        (b"Date\n\x81\xff", "unknown_encoding"),
        (b"\xff\xfeD\x00\x00\xd8", "unknown_encoding"),
        (b"Date\n" + b"x" * (MAX_CELL_CHARACTERS + 1), "cell_too_long"),
        (b"Date\n" + b"x" * 200_000, "bad_quotes"),
        (b"Date\n" + b"a," * 100 + b"a", "too_many_columns"),
        (b"Date\n" + b"a\n" * (MAX_ROWS + 1), "too_many_rows"),
    ],
)
def test_a_csv_that_is_no_table_is_refused(content, code):
    assert refusal(read_csv, content) == code


def test_a_spreadsheets_values_keep_their_kind():
    table = read_xlsx(
        spreadsheet(
            ["Date", "Start", "Time", "Hold", "Load", "Reps", "Warm", "Sum"],
            [
                date(2026, 3, 2),
                datetime(2026, 3, 2, 18, 30),
                time(1, 30),
                timedelta(hours=25),
                0.1 + 0.2,
                5,
                True,
                "=1",
            ],
        )
    )
    assert table.rows[0].cells == (
        datetime(2026, 3, 2), datetime(2026, 3, 2, 18, 30), time(1, 30), timedelta(hours=25), Decimal("0.3"),
        Decimal(5), True, None,
    )  # fmt: skip
    assert unpacked(packed(table)) == table


def test_a_sheet_is_read_by_its_name_and_an_unknown_one_is_told_which_there_are():
    content = spreadsheet(["Date", "Reps"], [1, 2], more=["March"])
    assert read_xlsx(content).sheets == ("Sheet", "March")
    with pytest.raises(TableError, match="'March'"):
        read_xlsx(content, "April")


def test_an_archive_that_unpacks_too_large_is_refused_before_it_is_read():
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/styles.xml", b" " * (MAX_SIDE_PART_BYTES + 1))
    assert refusal(read_xlsx, kept.getvalue()) == "unpacks_too_large"
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(3):
            archive.writestr(f"xl/worksheets/sheet{number}.xml", b" " * (30 * 1024 * 1024))
    assert refusal(read_xlsx, kept.getvalue()) == "unpacks_too_large"
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"<c/>" * 4_000_001)
    assert refusal(read_xlsx, kept.getvalue()) == "unpacks_too_large"


def test_one_long_text_named_from_every_cell_is_refused():
    content = spreadsheet(["Notes"] * 90, *([["x" * 2000] * 90] * 100))
    assert refusal(read_xlsx, content) == "too_much_text"


def rewritten(content, part, change):
    kept = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(kept, "w") as target:
        for name in source.namelist():
            data = source.read(name)
            target.writestr(name, change(data) if name == part else data)
    return kept.getvalue()


def test_entities_in_a_spreadsheet_are_not_expanded():
    bomb = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbb">]>'
    content = rewritten(
        spreadsheet(["Date"], ["x"]), "xl/worksheets/sheet1.xml", lambda data: bomb + data.split(b"?>", 1)[-1]
    )
    assert refusal(read_xlsx, content) == "not_a_spreadsheet"


def test_a_row_number_beyond_every_spreadsheet_ends_the_reading():
    content = rewritten(
        spreadsheet(["Date"], ["x"]),
        "xl/worksheets/sheet1.xml",
        lambda data: data.replace(b'r="2"', b'r="99999999999"'),
    )
    assert refusal(read_xlsx, content) == "too_many_rows"
