"""Guess what the columns of a table hold, from the words over them and from what stands in them."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from rapidfuzz import fuzz

from logs.imports.constants import (
    CANDIDATE_LIKENESS_MIN_PCT,
    CANDIDATES_MAX,
    FITTING_MIN_RATIO,
    GUESSED_ROWS,
    HEADER_LIKENESS_MIN_PCT,
    SAMPLE_CHARACTERS,
    SAMPLES,
    SESSIONS_PER_START_MAX_RATIO,
)
from logs.imports.dates import DateError, date_order, read_date, read_time
from logs.imports.fields import CARRIED, FIELDS, UNITS, FieldKind
from logs.imports.mapping import ColumnMapping, SessionsBy
from logs.imports.quantities import DecimalMark, QuantityError, added_load, number, seconds, with_unit
from logs.imports.tables import Cell, Table, column_letter, written
from logs.imports.words import KIND_WORDS, SIDE_WORDS, UNIT_WORDS

_BRACKETS: Final = re.compile(r"[(\[]([^)\]]*)[)\]]")
_WORDS: Final = re.compile(r"[a-z0-9]+")
_DECIMAL_COMMA: Final = re.compile(r"[+-]?[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})(?:\s*[a-zA-Z]+)?")
_DECIMAL_POINT: Final = re.compile(r"[+-]?[0-9]*\.(?:[0-9]{1,2}|[0-9]{4,})(?:\s*[a-zA-Z]+)?")
_EITHER_COMMA: Final = re.compile(r"[+-]?[0-9]{1,3},[0-9]{3}(?:\s*[a-zA-Z]+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldGuess:
    """A field that a column may hold; ``confidence_pct`` runs from 0 to 100: likeness by share that fits."""

    field: str
    confidence_pct: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnGuess:
    """A column as found.

    Attributes:
        letter: its name in a spreadsheet.
        header: the text over it.
        samples: the first different values in it.
        blanks: how many of its cells are blank.
        candidates: what it may hold, likeliest first.
    """

    letter: str
    header: str
    samples: tuple[str, ...]
    blanks: int
    candidates: tuple[FieldGuess, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """A table's columns as found, and the mapping that they suggest."""

    columns: tuple[ColumnGuess, ...]
    mapping: ColumnMapping


def guessed(table: Table, *, one_client: bool) -> Guess:
    """Guess how a table is to be read; what can't be told (a unit, the order of a date) is left open, never guessed.

    Args:
        table: the table.
        one_client: whether the whole file is known to be of one client.
    """
    cells = [[row.cells[index] for row in table.rows] for index in range(len(table.headers))]
    mark = _decimal_mark(cells, table.delimiter)
    columns = tuple(
        ColumnGuess(
            letter=column_letter(index),
            header=header[:SAMPLE_CHARACTERS],
            samples=_samples(cells[index]),
            blanks=cells[index].count(None),
            candidates=_candidates(header, cells[index], mark),
        )
        for index, header in enumerate(table.headers)
    )
    fields = _assigned(columns, without={"client"} if one_client else set())
    by_field = {name: cells[index] for index, name in fields.items()}
    units = {
        name: unit
        for index, name in fields.items()
        if name in UNITS and (unit := _unit(name, table.headers[index], cells[index]))
    }
    mapping = ColumnMapping(
        columns={column_letter(index): name for index, name in sorted(fields.items())},
        units=units,
        date_order=date_order(by_field.get("date", ()))[0],
        decimal_mark=mark,
        sessions_by=_sessions_by(by_field),
        fill_down=_filled_down(by_field),
    )
    return Guess(columns=columns, mapping=mapping)


def _samples(cells: Sequence[Cell]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for cell in cells:
        if cell is not None:
            found[written(cell)[:SAMPLE_CHARACTERS]] = None
        if len(found) == SAMPLES:
            break
    return tuple(found)


def _candidates(header: str, cells: Sequence[Cell], mark: DecimalMark) -> tuple[FieldGuess, ...]:
    filled = [cell for cell in cells[:GUESSED_ROWS] if cell is not None]
    guesses = []
    for name, field in FIELDS.items():
        likeness = _likeness(header, (*field.headers, name.replace("_", " ")))
        if likeness >= CANDIDATE_LIKENESS_MIN_PCT:
            fit = _fitting_ratio(field.kind, name, filled, mark)
            guesses.append(FieldGuess(field=name, confidence_pct=round(likeness * fit)))
    likely = [guess for guess in guesses if guess.confidence_pct > 0]
    return tuple(sorted(likely, key=lambda guess: -guess.confidence_pct)[:CANDIDATES_MAX])


def _likeness(header: str, words: Sequence[str]) -> float:
    plain = _plain(_BRACKETS.sub(" ", header)) or _plain(header)
    if not plain:
        return 0
    # A unit behind the name is no part of it, unless it is all there is.
    bare = " ".join(word for word in plain.split() if word not in UNIT_WORDS) or plain
    return max(max(fuzz.ratio(plain, word), fuzz.ratio(bare, word)) for word in words)


def _plain(text: str) -> str:
    return " ".join(_WORDS.findall(text.lower()))


def _fitting_ratio(kind: FieldKind, name: str, filled: Sequence[Cell], mark: DecimalMark) -> float:
    if not filled:
        return FITTING_MIN_RATIO
    return sum(_fits(kind, name, cell, mark) for cell in filled) / len(filled)


def _fits(kind: FieldKind, name: str, cell: Cell, mark: DecimalMark) -> bool:
    try:
        return _CHECKS[kind](name, cell, mark)
    except (DateError, QuantityError):
        return False


def _is_number(_name: str, cell: Cell, mark: DecimalMark) -> bool:
    number(cell, mark)
    return True


def _is_load(_name: str, cell: Cell, mark: DecimalMark) -> bool:
    return added_load(cell) is not None or with_unit(cell, mark)[1] in {"", "kg", "lb"}


def _is_word(name: str, cell: Cell, _mark: DecimalMark) -> bool:
    known: Mapping[str, str] = {"kind": KIND_WORDS, "side": SIDE_WORDS, "load_unit": UNIT_WORDS}[name]
    return _plain(written(cell)) in known


_CHECKS: Final[Mapping[FieldKind, Callable[[str, Cell, DecimalMark], bool]]] = {
    "date": lambda _name, cell, _mark: read_date(cell, None) is not None,
    "time": lambda _name, cell, _mark: read_time(cell) is not None,
    "text": lambda *_: True,
    "prose": lambda *_: True,
    "count": _is_number,
    "number": _is_number,
    "load": _is_load,
    "minutes": lambda _name, cell, mark: seconds(cell, mark, "min", of_a_set=False) is not None,
    "seconds": lambda _name, cell, mark: seconds(cell, mark, "s", of_a_set=False) is not None,
    "distance": lambda _name, cell, mark: with_unit(cell, mark)[1] in {"", "m", "km", "mi", "yd"},
    "word": _is_word,
}


def _assigned(columns: Sequence[ColumnGuess], *, without: set[str]) -> dict[int, str]:
    """Give each field the column that is surest of it, and each column one field at most."""
    offers = sorted(
        (
            (-guess.confidence_pct, index, guess.field)
            for index, column in enumerate(columns)
            for guess in column.candidates
            if guess.confidence_pct >= HEADER_LIKENESS_MIN_PCT * FITTING_MIN_RATIO and guess.field not in without
        ),
    )
    found: dict[int, str] = {}
    for _confidence, index, name in offers:
        likeness = _likeness(columns[index].header, (*FIELDS[name].headers, name.replace("_", " ")))
        if index not in found and name not in found.values() and likeness >= HEADER_LIKENESS_MIN_PCT:
            found[index] = name
    return found


def _unit(name: str, header: str, cells: Sequence[Cell]) -> str | None:
    """Return the unit that the header, or every cell that names one, says."""
    admitted = UNITS[name]
    said = {UNIT_WORDS[word] for word in _plain(header).split() if word in UNIT_WORDS} & set(admitted)
    if not said:
        ends = (cell.rstrip(".").split()[-1] for cell in cells[:GUESSED_ROWS] if isinstance(cell, str))
        words = (re.sub(r"^[^a-zA-Z]*", "", end).lower() for end in ends)
        said = {UNIT_WORDS[word] for word in words if word in UNIT_WORDS} & set(admitted)
    return said.pop() if len(said) == 1 else None


def _decimal_mark(columns: Sequence[Sequence[Cell]], delimiter: str) -> DecimalMark:
    commas = points = either = 0
    for cells in columns:
        for cell in cells[:GUESSED_ROWS]:
            if isinstance(cell, str):
                commas += bool(_DECIMAL_COMMA.fullmatch(cell))
                points += bool(_DECIMAL_POINT.fullmatch(cell))
                either += bool(_EITHER_COMMA.fullmatch(cell))
    if commas != points:
        return "," if commas > points else "."
    return "," if delimiter == ";" and either else "."


def _sessions_by(by_field: Mapping[str, Sequence[Cell]]) -> SessionsBy:
    dates = by_field.get("date", ())
    times = by_field.get("start_time", dates)
    if not dates or not any(_has_time(cell) if times is dates else cell is not None for cell in times):
        return "date"
    starts = len(set(zip(dates, times, strict=True)))
    return "start_time" if starts <= SESSIONS_PER_START_MAX_RATIO * len(dates) else "date"


def _has_time(cell: Cell) -> bool:
    try:
        return cell is not None and read_date(cell, None)[1] is not None
    except DateError:
        return False


def _filled_down(by_field: Mapping[str, Sequence[Cell]]) -> tuple[str, ...]:
    """Name the fields that stand only in the first of several rows."""
    tried = [name for name in CARRIED if name != "session" and name in by_field]
    return tuple(name for name in tried if by_field[name][0] is not None and None in by_field[name])
