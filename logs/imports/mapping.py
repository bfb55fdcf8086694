"""What a table's columns and cells are taken to mean: first a guess, then what a coach made of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal, Self

from logs.imports.dates import DateOrder
from logs.imports.fields import FIELDS, MEASURES, UNITS
from logs.imports.quantities import DecimalMark
from logs.imports.tables import column_letter

SessionsBy = Literal["date", "start_time"]

DECIMAL_MARKS: Final[tuple[DecimalMark, ...]] = (".", ",")
"""What may stand before decimals. Practice."""

SESSIONS_BY: Final[tuple[SessionsBy, ...]] = ("date", "start_time")
"""What tells sessions apart, beside a column that names them. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMapping:
    """How a table is read.

    Attributes:
        columns: by the column's letter, the field that it holds; columns that are not named are left out.
        units: by field, the unit of its plain numbers.
        date_order: how dates of three numbers are meant; None if that is not known.
        decimal_mark: what stands before decimals in text.
        sessions_by: whether times of day tell sessions of one day apart.
        fill_down: fields whose blank cells mean the value above.
        exercise_map: by the name written, the key of the exercise that is meant.
        client_map: by what is written, the id of the client that is meant.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    date_order: DateOrder | None = None
    decimal_mark: DecimalMark = "."
    sessions_by: SessionsBy = "date"
    fill_down: tuple[str, ...] = ()
    exercise_map: Mapping[str, str] = field(default_factory=dict)
    client_map: Mapping[str, str] = field(default_factory=dict)

    @property
    def letters(self) -> dict[str, str]:
        """By field, the letter of its column."""
        return {name: letter for letter, name in self.columns.items()}

    def indexes(self, width: int) -> dict[str, int]:
        """By field, the place of its column in a row of a table of so many columns."""
        places = {column_letter(index): index for index in range(width)}
        return {name: places[letter] for letter, name in self.columns.items() if letter in places}

    def changed(self, **changes: Any) -> Self:
        """Return it with some parts replaced; `columns`, `units` and the maps by entry, None taking one away."""
        merged: dict[str, Any] = {
            name: _merged(getattr(self, name), value) if isinstance(value, Mapping) else value
            for name, value in changes.items()
        }
        if "fill_down" in merged:
            merged["fill_down"] = tuple(merged["fill_down"])
        return replace(self, **merged)

    def document(self) -> dict[str, Any]:
        """Return it as it is stored and shown."""
        return {
            "columns": dict(self.columns),
            "units": dict(self.units),
            "date_order": self.date_order,
            "decimal_mark": self.decimal_mark,
            "sessions_by": self.sessions_by,
            "fill_down": list(self.fill_down),
            "exercise_map": dict(self.exercise_map),
            "client_map": dict(self.client_map),
        }

    @classmethod
    def of(cls, document: Mapping[str, Any]) -> Self:
        """Read what `document` wrote."""
        return cls(**{**document, "fill_down": tuple(document["fill_down"])})


def _merged(known: Mapping[str, str], changes: Mapping[str, str | None]) -> dict[str, str]:
    merged = {**known, **changes}
    return {name: value for name, value in merged.items() if value is not None}


@dataclass(frozen=True, slots=True)
class MappingFault:
    """One thing wrong with a mapping.

    Attributes:
        place: where in it, such as `columns/C`.
        code: a stable word for programs.
        detail: a sentence that says what to change.
    """

    place: str
    code: str
    detail: str


def mapping_faults(mapping: ColumnMapping, width: int) -> list[MappingFault]:
    """Find what can't be meant, whatever the rows hold."""
    faults: list[MappingFault] = []
    letters = {column_letter(index) for index in range(width)}
    seen: dict[str, str] = {}
    for letter, name in mapping.columns.items():
        if letter not in letters:
            faults.append(
                MappingFault(f"columns/{letter}", "unknown_column", f"The table has no column {letter!r}; see columns.")
            )
        if name not in FIELDS:
            faults.append(MappingFault(f"columns/{letter}", "unknown_field", f"There is no field {name!r} to map to."))
        elif name in seen:
            faults.append(
                MappingFault(
                    f"columns/{letter}",
                    "mapped_twice",
                    f"Columns {seen[name]} and {letter} can't both be {name}; set one of them to null.",
                )
            )
        seen.setdefault(name, letter)
    return [*faults, *_unit_faults(mapping)]


def _unit_faults(mapping: ColumnMapping) -> list[MappingFault]:
    faults = []
    for name, unit in mapping.units.items():
        if unit not in UNITS.get(name, ()):
            known = ", ".join(UNITS[name]) if name in UNITS else ""
            told = f"The unit of {name} is one of {known}." if known else f"{name!r} has no unit to set."
            faults.append(MappingFault(f"units/{name}", "unknown_unit", told))
    return faults


def missing_columns(mapping: ColumnMapping, *, one_client: bool) -> list[tuple[str, str]]:
    """Find what no column holds and must: the field's name (of several, the first), and a sentence."""
    mapped = set(mapping.columns.values())
    missing = []
    if "date" not in mapped:
        missing.append(("date", "No column is mapped to date; map the one with the day of the session."))
    if not one_client and "client" not in mapped:
        told = (
            "No column is mapped to client and no client was given; map one, or upload with ?client= for a file of one "
            "person."
        )
        missing.append(("client", told))
    check_ins = {name for name in mapped if name in FIELDS and FIELDS[name].part == "check_in"}
    told_of_sets = {name for name in mapped if name in FIELDS and FIELDS[name].part == "set"}
    if "exercise" not in mapped and (told_of_sets or not check_ins | (mapped & {"session_minutes", "session_rpe"})):
        missing.append(("exercise", "No column is mapped to exercise; map the one with the exercise's name."))
    if "exercise" in mapped and not mapped & set(MEASURES):
        missing.append(
            ("reps", f"No column says how much was done; map one to {', '.join(MEASURES[:-1])} or {MEASURES[-1]}.")
        )
    return missing
