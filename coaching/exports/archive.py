"""A ZIP of one JSON document and a CSV file per table, written row by row: its memory does not grow with the rows."""

import csv
import io
import shutil
from collections.abc import Iterable, Iterator
from tempfile import SpooledTemporaryFile
from types import TracebackType
from typing import IO, Any, Final, Self
from zipfile import ZIP_DEFLATED, ZipFile

import orjson

from coaching.exports.cells import cell, plain

_KEPT_IN_MEMORY_BYTES: Final = 65_536
_LINES: Final = """\
{title}

record.json  everything, exact: an object with a list of rows for each table. Decimal numbers stand as text, so that
             no digit is lost; instants carry their offset.
*.csv        the same rows, a table each, for spreadsheets: UTF-8 with a byte order mark, commas, quotes doubled. A text
             that a spreadsheet would take for a formula begins with an apostrophe. An empty cell is an unknown value.

A row's `deleted_at` says that it was taken back. Rows of logs_logrevision are what a log said before it was corrected.

Rows by table:
"""


class Archive:
    """The archive while it is written; leave it as a context to complete it."""

    def __init__(self, file: IO[bytes], *, title: str, about: dict[str, Any]) -> None:
        self._zip = ZipFile(file, "w", ZIP_DEFLATED, allowZip64=True)
        self._title, self._counts = title, dict[str, int]()
        self._sheets: list[tuple[str, IO[bytes]]] = []
        self._document = self._zip.open("record.json", "w", force_zip64=True)
        self._document.write(orjson.dumps(about, default=plain)[:-1] + b',"tables":{')

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, _error: object, _trace: TracebackType | None) -> None:
        if kind is None:
            self._complete()
        else:
            self._document.close()
        for _name, sheet in self._sheets:
            sheet.close()
        self._zip.close()

    def add(self, name: str, columns: tuple[str, ...], rows: Iterable[tuple[Any, ...]]) -> None:
        """Write a table, each row once."""
        sheet: IO[bytes] = SpooledTemporaryFile(max_size=_KEPT_IN_MEMORY_BYTES)  # noqa: SIM115 -- an IO[bytes] in all but name; closed with the archive
        self._document.write((b"," if self._sheets else b"") + orjson.dumps(name) + b":[")
        self._sheets.append((name, sheet))
        sheet.write("\ufeff".encode())
        sheet.write(_line(columns))
        for number, row in enumerate(rows):
            shown = dict(zip(columns, map(plain, row), strict=True))
            self._document.write((b"\n," if number else b"\n") + orjson.dumps(shown))
            sheet.write(_line(map(cell, row)))
            self._counts[name] = number + 1
        self._document.write(b"]")

    def _complete(self) -> None:
        self._document.write(b"}}")
        self._document.close()
        for name, sheet in self._sheets:
            sheet.seek(0)
            with self._zip.open(f"{name}.csv", "w", force_zip64=True) as written:
                shutil.copyfileobj(sheet, written, 1 << 16)
        self._zip.writestr("README.txt", "".join(self._told()))

    def _told(self) -> Iterator[str]:
        yield _LINES.format(title=self._title)
        for name, _sheet in self._sheets:
            yield f"{self._counts.get(name, 0):>8}  {name}\n"


def _line(values: Iterable[Any]) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerow(values)
    return text.getvalue().encode()
