"""A table as a file gave it: typed cells, each with its place, and the text that it is kept as."""

import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Final, Literal

import orjson

from logs.imports.constants import MAX_CELL_CHARACTERS, MAX_COLUMNS, MAX_ROWS, MAX_TABLE_CHARACTERS

Cell = str | Decimal | date | datetime | time | timedelta | bool | None
"""A cell's value; None is a blank cell. Text is never blank and never has blanks round it."""

Format = Literal["csv", "xlsx"]

_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
_LETTERS: Final = 26
_LEVEL: Final = 6


class TableError(ValueError):
    """A file that can't be read as a table.

    Attributes:
        code: a stable word for programs.
    """

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row that is not blank.

    Attributes:
        number: as a spreadsheet numbers it, the header and blank rows counted.
        cells: one for each column.
    """

    number: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table.

    Attributes:
        format: what the file was.
        headers: the texts over the columns; empty where there is none.
        header_row: the number of the row of headers.
        rows: the rows under it.
        encoding: of a CSV file's text; empty for a spreadsheet.
        delimiter: of a CSV file; empty for a spreadsheet.
        sheet: the sheet's name; empty for CSV.
        sheets: the names of all sheets.
    """

    format: Format
    headers: tuple[str, ...]
    header_row: int
    rows: tuple[TableRow, ...]
    encoding: str = ""
    delimiter: str = ""
    sheet: str = ""
    sheets: tuple[str, ...] = ()


def column_letter(index: int) -> str:
    """Name a column as a spreadsheet does: 0 is `A`, 26 is `AA`."""
    letters = ""
    rest = index + 1
    while rest:
        rest, letter = divmod(rest - 1, _LETTERS)
        letters = chr(ord("A") + letter) + letters
    return letters


def clean_text(text: str) -> str | None:
    """Return a cell's text without blanks round it; control characters become spaces; None if nothing is left."""
    plain = _CONTROL.sub(" ", text).replace("\xa0", " ").strip()
    return plain or None


class TableBuilder:
    """Gathers rows within the bounds of a table; the first row with anything in it is the header."""

    def __init__(self) -> None:
        self._header: TableRow | None = None
        self._rows: list[TableRow] = []
        self._characters = 0

    def add(self, number: int, cells: Sequence[Cell]) -> None:
        """Take a row.

        Raises:
            TableError: it does not fit; the sentence names its place.
        """
        last = max((index for index, cell in enumerate(cells) if cell is not None), default=-1)
        if last < 0:
            return
        if last >= MAX_COLUMNS:
            raise TableError(
                "too_many_columns",
                f"Row {number} goes on to column {column_letter(last)}; a table has at most {MAX_COLUMNS} columns.",
            )
        row = TableRow(number, tuple(cells[: last + 1]))
        self._count_characters(row)
        if self._header is None:
            self._header = row
            return
        if len(self._rows) == MAX_ROWS:
            raise TableError("too_many_rows", f"A table has at most {MAX_ROWS:,} rows; import this one in parts.")
        self._rows.append(row)

    def _count_characters(self, row: TableRow) -> None:
        for index, cell in enumerate(row.cells):
            if isinstance(cell, str):
                self._characters += len(cell)
                if len(cell) > MAX_CELL_CHARACTERS:
                    raise TableError(
                        "cell_too_long",
                        f"Cell {column_letter(index)}{row.number} holds {len(cell):,} characters; a cell holds at "
                        f"most {MAX_CELL_CHARACTERS:,}.",
                    )
        if self._characters > MAX_TABLE_CHARACTERS:
            raise TableError(
                "too_much_text", f"The table holds over {MAX_TABLE_CHARACTERS:,} characters; import it in parts."
            )

    def table(self, file_format: Format, **told: Any) -> Table:
        """Return what was gathered.

        Raises:
            TableError: there is no row under a header.
        """
        if self._header is None or not self._rows:
            raise TableError("no_rows", "The table has no rows under its header; its first row must name the columns.")
        width = max(len(self._header.cells), *(len(row.cells) for row in self._rows))
        headers = tuple(written(cell) for cell in _wide(self._header.cells, width))
        rows = tuple(TableRow(row.number, _wide(row.cells, width)) for row in self._rows)
        return Table(file_format, headers, self._header.number, rows, **told)


def _wide(cells: tuple[Cell, ...], width: int) -> tuple[Cell, ...]:
    return cells + (None,) * (width - len(cells))


def written(cell: Cell) -> str:
    """Write a cell as text, as a person would read it; a blank one as nothing."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, Decimal):
        return format(cell, "f")
    if isinstance(cell, datetime):
        return cell.isoformat(" ")
    return cell if isinstance(cell, str) else str(cell)


def packed(table: Table) -> bytes:
    """Write a table as compressed bytes, to be kept."""
    told = {name: getattr(table, name) for name in _TOLD}
    rows = [[row.number, *map(_encoded, row.cells)] for row in table.rows]
    return zlib.compress(orjson.dumps({**told, "rows": rows}), _LEVEL)


def unpacked(content: bytes) -> Table:
    """Read a table that `packed` wrote."""
    document = orjson.loads(zlib.decompress(content))
    rows = tuple(TableRow(number, tuple(map(_decoded, cells))) for number, *cells in document.pop("rows"))
    document["headers"], document["sheets"] = tuple(document["headers"]), tuple(document["sheets"])
    return Table(rows=rows, **document)


_TOLD: Final = ("format", "headers", "header_row", "encoding", "delimiter", "sheet", "sheets")


def _encoded(cell: Cell) -> Any:
    # In this order: a datetime is a date, a bool prints as a number.
    if cell is None or isinstance(cell, str | bool):
        return cell
    if isinstance(cell, Decimal):
        return ["n", str(cell)]
    if isinstance(cell, datetime):
        return ["i", cell.isoformat()]
    if isinstance(cell, date):
        return ["d", cell.isoformat()]
    if isinstance(cell, time):
        return ["t", cell.isoformat()]
    return ["s", [cell.days, cell.seconds, cell.microseconds]]


def _decoded(value: Any) -> Cell:
    if not isinstance(value, list):
        return value  # type: ignore[no-any-return]  # text, yes or no, or nothing, as `_encoded` wrote it
    kind, told = value
    if kind == "s":
        return timedelta(*told)
    decoded: Cell = _DECODERS[kind](told)
    return decoded


_DECODERS: Final[dict[str, Any]] = {
    "n": Decimal,
    "i": datetime.fromisoformat,
    "d": date.fromisoformat,
    "t": time.fromisoformat,
}
