"""CSV: whichever encoding and delimiter the file came in, told with the table."""

import codecs
import csv
import io
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from typing import Final

from logs.imports.constants import MAX_CELL_CHARACTERS, MAX_COLUMNS, MAX_ROW_NUMBER, SNIFFED_RECORDS
from logs.imports.tables import Table, TableBuilder, TableError, clean_text

DELIMITERS: Final = (",", ";", "\t", "|")
_BOMS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    # Before UTF-16, whose mark is the beginning of this one.
    (codecs.BOM_UTF32_LE, ""),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_LATIN: Final = "windows-1252"


def read_csv(content: bytes) -> Table:
    """Read a CSV file: UTF-8, UTF-16 with its mark, or else Windows-1252; quoted as in RFC 4180.

    Raises:
        TableError: it is no table within the bounds; the sentence says what to change, and where.
    """
    text, encoding = _decoded(content)
    if "\x00" in text:
        raise TableError("not_text", "The file holds NUL characters, so it is no CSV; export it as CSV (UTF-8).")
    delimiter = _delimiter(text)
    builder = TableBuilder()
    number = 0
    records = _records(text, delimiter)
    while True:
        number += 1
        try:
            record = next(records, None)
        except csv.Error as error:
            raise TableError(
                "bad_quotes",
                f"Row {number} can't be read ({error}); close each quotation mark, and write one inside a quoted "
                "cell twice.",
            ) from None
        if record is None:
            return builder.table("csv", encoding=encoding, delimiter=delimiter)
        if number > MAX_ROW_NUMBER:
            raise TableError("too_many_rows", "The file has more rows than a spreadsheet; import it in parts.")
        builder.add(number, [clean_text(field) for field in record])


def _decoded(content: bytes) -> tuple[str, str]:
    for mark, encoding in _BOMS:
        if content.startswith(mark):
            return _strictly(content[len(mark) :], encoding), encoding
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return _strictly(content, _LATIN), _LATIN


def _strictly(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding or "utf-8")
    except UnicodeDecodeError:
        raise TableError(
            "unknown_encoding", "The file's text is neither UTF-8, UTF-16 nor Windows-1252; export it as CSV (UTF-8)."
        ) from None


def _records(text: str, delimiter: str, *, strict: bool = True) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=strict)


def _delimiter(text: str) -> str:
    """Choose the delimiter that divides most records alike; a tie goes to the usual order."""
    return max(DELIMITERS, key=lambda one: (_evenness(text, one), -DELIMITERS.index(one)))


def _evenness(text: str, delimiter: str) -> tuple[int, int]:
    head = text[: SNIFFED_RECORDS * MAX_CELL_CHARACTERS]
    widths: Counter[int] = Counter()
    try:
        for record in islice(_records(head, delimiter, strict=False), SNIFFED_RECORDS):
            if any(field.strip() for field in record):
                widths[min(len(record), MAX_COLUMNS)] += 1
    except csv.Error:
        return (0, 0)
    divided = {width: count for width, count in widths.items() if width > 1}
    if not divided:
        return (0, 0)
    width, count = max(divided.items(), key=lambda found: (found[1], found[0]))
    return (count, width)
