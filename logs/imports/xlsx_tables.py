"""XLSX: the values of one sheet, read in a stream, with the archive's size bounded before anything is unpacked.

Formulas are not computed: what the spreadsheet program last stored as their value is read.
"""

import io
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Final

import openpyxl

from logs.imports.constants import (
    MAX_MARKS,
    MAX_PARTS,
    MAX_ROW_NUMBER,
    MAX_SIDE_PART_BYTES,
    MAX_UNPACKED_BYTES,
)
from logs.imports.tables import Cell, Table, TableBuilder, TableError, clean_text

_STREAMED: Final = ("xl/worksheets/", "xl/sharedStrings")
_UNREAD: Final = ("xl/media/", "xl/drawings/", "xl/charts/", "docProps/thumbnail")
_PIECE_BYTES: Final = 1024 * 1024
_MAX_PLAIN: Final = 1e15
_NOT_A_SPREADSHEET: Final = "The file is no XLSX spreadsheet that can be read; save it as .xlsx anew, or export CSV."


def read_xlsx(content: bytes, sheet: str | None = None) -> Table:
    """Read a sheet of a spreadsheet.

    Args:
        content: the file.
        sheet: the sheet's name; None for the first.

    Raises:
        TableError: it is no table within the bounds; the sentence says what to change, and where.
    """
    _check_archive(content)
    with warnings.catch_warnings():
        # What the library can't show (charts, odd styles) matters to nobody who reads values.
        warnings.simplefilter("ignore")
        try:
            return _read(content, sheet)
        except TableError:
            raise
        except Exception as error:
            raise TableError("not_a_spreadsheet", _NOT_A_SPREADSHEET) from error


def _check_archive(content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
            _check_sizes(parts)
            for part in parts:
                if part.filename.endswith(".xml") and not part.filename.startswith(_UNREAD):
                    _check_marks(archive, part)
    except TableError:
        raise
    except Exception as error:
        raise TableError("not_a_spreadsheet", _NOT_A_SPREADSHEET) from error


def _check_sizes(parts: list[zipfile.ZipInfo]) -> None:
    # Reading stops at the size that a part declares, so that these can't understate what comes.
    large = any(
        part.file_size > MAX_SIDE_PART_BYTES and not part.filename.startswith((*_STREAMED, *_UNREAD)) for part in parts
    )
    if large or len(parts) > MAX_PARTS or sum(part.file_size for part in parts) > MAX_UNPACKED_BYTES:
        raise TableError(
            "unpacks_too_large",
            f"The spreadsheet unpacks to more than {MAX_UNPACKED_BYTES // 1024 // 1024} MiB; keep only the sheet with "
            "the logs, or export CSV.",
        )


def _check_marks(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> None:
    marks = 0
    with archive.open(part) as unpacked:
        while piece := unpacked.read(_PIECE_BYTES):
            marks += piece.count(b"<")
            if marks > MAX_MARKS:
                raise TableError(
                    "unpacks_too_large", "The spreadsheet has too many cells; keep only the logs, or export CSV."
                )


def _read(content: bytes, wanted: str | None) -> Table:
    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
    try:
        names = tuple(sheet.title for sheet in book.worksheets)
        if wanted is not None and wanted not in names:
            listed = ", ".join(repr(name) for name in names[:10])
            raise TableError("unknown_sheet", f"There is no sheet {wanted[:60]!r}; its sheets are {listed}.")
        name = names[0] if wanted is None else wanted
        builder = TableBuilder()
        for number, cells in _rows(book[name]):
            builder.add(number, cells)
        return builder.table("xlsx", sheet=name, sheets=names)
    finally:
        book.close()


def _rows(sheet: Any) -> Iterator[tuple[int, list[Cell]]]:
    # What a file says of its own size may be wrong, and would cut rows off or make them up.
    sheet.reset_dimensions()
    for number, values in enumerate(sheet.iter_rows(values_only=True), start=1):
        if number > MAX_ROW_NUMBER:
            raise TableError("too_many_rows", "The sheet has rows beyond what a spreadsheet can number.")
        if values:
            yield number, [None if value is None else _cell(value) for value in values]


def _cell(value: Any) -> Cell:
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, bool | datetime | date | time | timedelta):
        return value
    if isinstance(value, int | float) and abs(value) < _MAX_PLAIN:
        # A spreadsheet shows 15 digits: 82.30000000000001 is what binary makes of 82.3.
        return Decimal(format(value, ".15g"))
    return clean_text(str(value))
