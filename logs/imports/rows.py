"""Rows as typed values, by a mapping: every fault at its cell, and what the mapping still has to say."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from logs.imports.constants import S_PER_MIN
from logs.imports.dates import DATE_ORDERS, DateError, read_date, read_time
from logs.imports.fields import FIELDS, LOAD_UNITS, MEASURES, UNITS, ImportField
from logs.imports.mapping import ColumnMapping
from logs.imports.quantities import QuantityError, added_load, metres, number, seconds, with_unit
from logs.imports.tables import Cell, Table, written
from logs.imports.typed_rows import LoadValue, Question, Row
from logs.imports.words import KIND_WORDS, SIDE_WORDS, UNIT_WORDS

_EFFORT_PLACES: Final = 1
_SETS_FIELDS: Final = tuple(name for name, one in FIELDS.items() if one.part == "set" and name != "exercise")


@dataclass(frozen=True, slots=True)
class ReadTable:
    """The rows of a table as read, and the questions that they left open."""

    rows: list[Row]
    questions: tuple[Question, ...]


def read_rows(table: Table, mapping: ColumnMapping) -> ReadTable:
    """Read every row of a table; nothing stops at a fault."""
    reader = _Reader(mapping, mapping.indexes(len(table.headers)))
    rows = [reader.row(row.number, row.cells) for row in table.rows]
    return ReadTable(rows, tuple(reader.questions.values()))


class _Reader:
    def __init__(self, mapping: ColumnMapping, indexes: Mapping[str, int]) -> None:
        self.mapping = mapping
        self.indexes = indexes
        self.questions: dict[str, Question] = {}
        self.above: dict[str, Cell] = {}
        self.with_unit_column = "load_unit" in indexes

    def row(self, number_: int, cells: tuple[Cell, ...]) -> Row:
        row = Row(number_)
        found = {name: cells[index] for name, index in self.indexes.items()}
        self._fill_down(found)
        for name, cell in found.items():
            if cell is not None:
                try:
                    _READERS[FIELDS[name].kind](self, row, FIELDS[name], cell)
                except (QuantityError, DateError) as error:
                    row.fault(name, error.code, str(error))
        self._settle_load_unit(row)
        self._check_required(row, found)
        return row

    def _fill_down(self, found: dict[str, Cell]) -> None:
        for name in self.mapping.fill_down:
            if name not in found:
                continue
            # An exercise above is meant only by a row that tells of a set.
            if found[name] is None and (name != "exercise" or any(found.get(one) is not None for one in _SETS_FIELDS)):
                found[name] = self.above.get(name)
            elif found[name] is not None:
                self.above[name] = found[name]

    def _check_required(self, row: Row, found: Mapping[str, Cell]) -> None:
        if found.get("date") is None and "date" in self.indexes:
            row.fault("date", "required", "The date is missing; write the day of the session.")
        if found.get("client") is None and "client" in self.indexes:
            row.fault("client", "required", "The client is missing; write their name, email or id.")
        if found.get("exercise") is None and "exercise" in self.indexes:
            if any(found.get(name) is not None for name in _SETS_FIELDS):
                row.fault("exercise", "required", "The exercise is missing; write what was done.")
        elif row.has_set and all(found.get(measure) is None for measure in MEASURES):
            row.fault("", "no_measure", f"Say how much was done, in a column mapped to {' or '.join(MEASURES)}.")

    def _settle_load_unit(self, row: Row) -> None:
        """Give a plain load the unit that the row's own column says."""
        load, unit = row.values.get("load"), row.values.pop("load_unit", None)
        if load is None or load.unit:
            return
        unit = unit or self.mapping.units.get("load")
        if unit is not None:
            row.values["load"] = LoadValue(load.value, unit, load.added)
            return
        del row.values["load"]
        if self.with_unit_column and not any(fault.field == "load_unit" for fault in row.faults):
            row.fault("load_unit", "required", "The unit of the load is missing; write kg or lb.")
        elif not self.with_unit_column:
            self.ask_unit("load")

    def ask_unit(self, name: str) -> None:
        choices = UNITS[name]
        self.questions[name] = Question(
            name,
            "unknown_unit",
            f"Nothing says what unit {name} is in; set units.{name} to {' or '.join(choices)}.",
            choices,
        )

    def ask_date_order(self, cell: Cell) -> None:
        if "date" not in self.questions:
            self.questions["date"] = Question(
                "date",
                "ambiguous_date",
                f"{written(cell)[:40]!r} may have the day or the month first, and no date of the column tells; set "
                "date_order to dmy (day first) or mdy.",
                DATE_ORDERS,
            )

    def date(self, row: Row, one: ImportField, cell: Cell) -> None:
        day, at = read_date(cell, self.mapping.date_order)
        if at is not None:
            row.values["time_of_date"] = at
        if day is None:
            self.ask_date_order(cell)
        else:
            row.values[one.name] = day

    def time(self, row: Row, one: ImportField, cell: Cell) -> None:
        row.values[one.name] = read_time(cell)

    def text(self, row: Row, one: ImportField, cell: Cell) -> None:
        text = written(cell)
        if len(text) > one.maximum:
            raise QuantityError(
                "too_long", f"This is {len(text)} characters long; {one.name} has at most {one.maximum:g}."
            )
        row.values[one.name] = text if one.kind == "prose" else " ".join(text.split())

    def count(self, row: Row, one: ImportField, cell: Cell) -> None:
        value = number(cell, self.mapping.decimal_mark)
        if value != value.to_integral_value():
            raise QuantityError("not_whole", f"{written(cell)[:40]!r} is not whole; {one.name} is a whole number.")
        row.values[one.name] = int(_bounded(one, value, cell))

    def number(self, row: Row, one: ImportField, cell: Cell) -> None:
        row.values[one.name] = _rounded(one, number(cell, self.mapping.decimal_mark), cell)

    def load(self, row: Row, one: ImportField, cell: Cell) -> None:
        added = added_load(cell)
        if added == "":
            return
        value, unit = with_unit(added or cell, self.mapping.decimal_mark)
        if unit and unit not in LOAD_UNITS:
            raise QuantityError("unknown_unit", f"{unit} is no unit of a load; use kg or lb.")
        rounded = _rounded(one, value, cell)
        if one.name == "load":
            row.values[one.name] = LoadValue(rounded, unit, added is not None)
        elif unit := unit or self.mapping.units.get(one.name, ""):
            row.values[one.name] = LoadValue(rounded, unit)
        else:
            self.ask_unit(one.name)

    def minutes(self, row: Row, one: ImportField, cell: Cell) -> None:
        found = seconds(cell, self.mapping.decimal_mark, "min", of_a_set=False)
        if found is not None and found <= 0:
            raise QuantityError("out_of_range", "A session takes longer than nothing; correct it or leave it blank.")
        row.values[one.name] = _rounded(one, (found or Decimal(0)) / S_PER_MIN, cell)

    def seconds(self, row: Row, one: ImportField, cell: Cell) -> None:
        found = seconds(cell, self.mapping.decimal_mark, self.mapping.units.get(one.name), of_a_set=True)
        if found is None:
            self.ask_unit(one.name)
        else:
            row.values[one.name] = _rounded(one, found, cell)

    def distance(self, row: Row, one: ImportField, cell: Cell) -> None:
        value, own = with_unit(cell, self.mapping.decimal_mark)
        unit = own or self.mapping.units.get(one.name)
        if unit is None:
            self.ask_unit(one.name)
        else:
            row.values[one.name] = _rounded(one, metres(value, unit), cell)

    def word(self, row: Row, one: ImportField, cell: Cell) -> None:
        text = " ".join(written(cell).lower().replace("-", " ").replace("_", " ").split()).rstrip(".")
        found = _WORDS[one.name].get(text)
        if found is None:
            code = "unknown_unit" if one.name == "load_unit" else "unknown_word"
            raise QuantityError(
                code, f"{written(cell)[:40]!r} is no {_TOLD[one.name]}; use {', '.join(_admitted(one.name))}."
            )
        row.values[one.name] = found


_WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "kind": KIND_WORDS,
    "side": SIDE_WORDS,
    "load_unit": {word: unit for word, unit in UNIT_WORDS.items() if unit in LOAD_UNITS},
}
_TOLD: Final = {"kind": "kind of set", "side": "side", "load_unit": "unit of a load"}


def _admitted(name: str) -> Iterable[str]:
    return dict.fromkeys(_WORDS[name].values())


def _bounded(one: ImportField, value: Decimal, cell: Cell) -> Decimal:
    over = value >= one.maximum if one.open_ended else value > one.maximum
    under = value <= one.minimum if one.open_ended and one.minimum else value < one.minimum
    if over or under:
        raise QuantityError(
            "out_of_range",
            f"{written(cell)[:40]!r} can't be: {one.name} goes from {one.minimum:g} to {one.maximum:g}; correct it.",
        )
    return value


def _rounded(one: ImportField, value: Decimal, cell: Cell) -> Decimal:
    """Keep as many decimals as are kept of measured things; what is chosen (an effort) is not rounded."""
    _bounded(one, value, cell)
    rounded = value.quantize(Decimal(1).scaleb(-one.places), rounding=ROUND_HALF_EVEN)
    if one.places == _EFFORT_PLACES and rounded != value:
        raise QuantityError("too_precise", f"{written(cell)[:40]!r} has too many decimals; {one.name} has one at most.")
    return rounded


_READERS: Final[Mapping[str, Callable[[_Reader, Row, ImportField, Cell], None]]] = {
    "date": _Reader.date,
    "time": _Reader.time,
    "text": _Reader.text,
    "prose": _Reader.text,
    "count": _Reader.count,
    "number": _Reader.number,
    "load": _Reader.load,
    "minutes": _Reader.minutes,
    "seconds": _Reader.seconds,
    "distance": _Reader.distance,
    "word": _Reader.word,
}
