"""A ZIP of one JSON document and a CSV file per table, written row by row: its memory does not grow with the rows."""

import csv
import io
import shutil
from collections.abc import Collection, Iterable, Iterator
from tempfile import SpooledTemporaryFile
from types import TracebackType
from typing import IO, Any, Final, Self
from zipfile import ZIP_DEFLATED, ZipFile

import orjson

from coaching.exports.cells import cell, plain
from coaching.exports.sentences import SENTENCES

_KEPT_IN_MEMORY_BYTES: Final = 65_536
_LINES: Final = """\
{title}

record.json  everything, exact: an object with a list of rows for each table. Decimal numbers stand as text, so that
             no digit is lost; instants carry their offset.
*.csv        the same rows, a table each, for spreadsheets: UTF-8 with a byte order mark, commas, quotes doubled. A text
             that a spreadsheet would take for a formula begins with an apostrophe. An empty cell is an unknown value.

A row's `deleted_at` says that it was taken back. Nothing is left out or blurred for care: weights and heart rates
that the service does not show of somebody stand in here, since it is the whole record. Keep it as you keep such things.

Rows of each table, and what it holds:
"""


class Archive:
    """The archive while it is written; leave it as a context to complete it."""

    def __init__(self, file: IO[bytes], *, title: str, about: dict[str, Any]) -> None:
        self._zip = ZipFile(file, "w", ZIP_DEFLATED, allowZip64=True)
        self._title, self._counts = title, dict[str, int]()
        self._sheets: list[tuple[str, IO[bytes]]] = []
        self._columns: tuple[str, ...] = ()
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

    def begin(self, name: str, columns: tuple[str, ...]) -> None:
        """Begin a table; the one before it is complete."""
        sheet: IO[bytes] = SpooledTemporaryFile(max_size=_KEPT_IN_MEMORY_BYTES)  # noqa: SIM115 -- an IO[bytes] in all but name; closed with the archive
        self._document.write((b"]," if self._sheets else b"") + orjson.dumps(name) + b":[")
        self._sheets.append((name, sheet))
        self._columns, self._counts[name] = columns, 0
        sheet.write("\ufeff".encode() + _lines([columns]))

    def add(self, rows: Collection[tuple[Any, ...]]) -> None:
        """Write further rows of the table begun last, each once."""
        name, sheet = self._sheets[-1]
        for row in rows:
            shown = dict(zip(self._columns, row, strict=True))
            self._document.write((b"\n," if self._counts[name] else b"\n") + orjson.dumps(shown, default=plain))
            self._counts[name] += 1
        sheet.write(_lines([map(cell, row) for row in rows]))

    def _complete(self) -> None:
        self._document.write(b"]}}" if self._sheets else b"}}")
        self._document.close()
        for name, sheet in self._sheets:
            sheet.seek(0)
            with self._zip.open(f"{name}.csv", "w", force_zip64=True) as written:
                shutil.copyfileobj(sheet, written, 1 << 16)
        self._zip.writestr("README.txt", "".join(self._told()))

    def _told(self) -> Iterator[str]:
        yield _LINES.format(title=self._title)
        for name, _sheet in self._sheets:
            yield f"{self._counts[name]:>8}  {name:<28} {SENTENCES.get(name, '')}".rstrip() + "\n"


def _lines(rows: Iterable[Iterable[Any]]) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()
