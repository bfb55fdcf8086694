"""What reading a row of a table gives: typed values by field, faults at cells, questions to the mapping."""

from dataclasses import dataclass, field
from datetime import date, time
from decimal import Decimal
from typing import Any


@dataclass(frozen=True, slots=True)
class CellFault:
    """One thing wrong with a cell.

    Attributes:
        row: the row's number.
        field: the field whose column it stands in; empty for the row itself.
        code: a stable word for programs.
        detail: a sentence that says what to change.
    """

    row: int
    field: str
    code: str
    detail: str


@dataclass(frozen=True, slots=True)
class Question:
    """What the mapping must say before the rows can be read.

    Attributes:
        field: of which field.
        code: a stable word for programs.
        detail: a sentence that says what to set.
        choices: what it may be set to.
    """

    field: str
    code: str
    detail: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LoadValue:
    """A load with its unit; ``added`` if it was written as bodyweight plus something."""

    value: Decimal
    unit: str
    added: bool = False


@dataclass(slots=True)
class Row:
    """A row as read.

    Attributes:
        number: as a spreadsheet numbers it.
        values: by field; what is blank or could not be read is left out.
        faults: what could not be read.
    """

    number: int
    values: dict[str, Any] = field(default_factory=dict)
    faults: list[CellFault] = field(default_factory=list)

    @property
    def local_date(self) -> date | None:
        """The day of the session."""
        return self.values.get("date")

    @property
    def started(self) -> time | None:
        """The time of day at which it started, from its own column or beside the date."""
        return self.values.get("start_time") or self.values.get("time_of_date")

    @property
    def has_set(self) -> bool:
        """Say whether the row tells of a set."""
        return "exercise" in self.values

    def fault(self, name: str, code: str, detail: str) -> None:
        """Note one more fault."""
        self.faults.append(CellFault(self.number, name, code, detail))
