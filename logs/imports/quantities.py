"""Numbers, loads, durations and distances as people write them in tables."""

import re
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Final, Literal

from logs.imports.constants import M_PER_KM, M_PER_MI, M_PER_YD, MIN_PER_H, S_PER_MIN
from logs.imports.tables import Cell, written
from logs.imports.words import UNIT_WORDS

DecimalMark = Literal[".", ","]

_NUMBERS: Final[dict[DecimalMark, re.Pattern[str]]] = {
    ".": re.compile(r"[+-]?(?:[0-9]{1,3}(?:[,' ][0-9]{3})+|[0-9]{1,15})(?:\.[0-9]{1,15})?|[+-]?\.[0-9]{1,15}"),
    ",": re.compile(r"[+-]?(?:[0-9]{1,3}(?:[.' ][0-9]{3})+|[0-9]{1,15})(?:,[0-9]{1,15})?|[+-]?,[0-9]{1,15}"),
}
_GROUPING: Final[dict[DecimalMark, str]] = {".": ",' ", ",": ".' "}
_WITH_UNIT: Final = re.compile(r"(?P<number>[^a-zA-Z]+?)\s*(?P<unit>[a-zA-Z]+)\.?")
_BODYWEIGHT: Final = re.compile(r"(?i)(?:bw|body\s?weight)\s*(?P<added>[+-].*)?")
_CLOCK: Final = re.compile(r"(?:([0-9]{1,3}):)?([0-9]{1,4}):([0-5]?[0-9](?:[.,][0-9]{1,3})?)")
_PARTS: Final = re.compile(
    r"(?i)(?:([0-9]{1,3})\s?h(?:ours?|rs?)?)?\s*(?:([0-9]{1,4})\s?m(?:in(?:ute)?s?)?)?\s*"
    r"(?:([0-9]{1,5})\s?s(?:ec(?:ond)?s?)?)?"
)
_METRES: Final = {"m": Decimal(1), "km": Decimal(M_PER_KM), "mi": Decimal(M_PER_MI), "yd": Decimal(M_PER_YD)}


class QuantityError(ValueError):
    """A cell that is no such quantity.

    Attributes:
        code: a stable word for programs.
    """

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


def number(cell: Cell, mark: DecimalMark) -> Decimal:
    """Read a number.

    Args:
        cell: not blank.
        mark: what stands before its decimals where it is text.

    Raises:
        QuantityError: it is none.
    """
    if isinstance(cell, Decimal):
        return cell
    text = written(cell).replace("\u2212", "-").replace("\u202f", " ")
    if not isinstance(cell, str) or not _NUMBERS[mark].fullmatch(text):
        raise QuantityError("not_a_number", f"{_quoted(cell)} is not a number; write only the number.")
    for group in _GROUPING[mark]:
        text = text.replace(group, "")
    return Decimal(text.replace(",", "."))


def with_unit(cell: Cell, mark: DecimalMark) -> tuple[Decimal, str]:
    """Read a number that may have its unit behind it; the unit is empty where there is none.

    Raises:
        QuantityError: it is no number, or the word behind it is no unit.
    """
    match = _WITH_UNIT.fullmatch(cell) if isinstance(cell, str) else None
    if match is None:
        return number(cell, mark), ""
    unit = UNIT_WORDS.get(match["unit"].lower())
    if unit is None:
        raise QuantityError("unknown_unit", f"{_quoted(cell)} has a unit that is not known; use kg or lb.")
    return number(match["number"].strip(), mark), unit


def added_load(cell: Cell) -> str | None:
    """Read `BW`, `BW+10` and the like: what is added, as text (empty for nothing); None where it is none of these."""
    match = _BODYWEIGHT.fullmatch(cell) if isinstance(cell, str) else None
    return None if match is None else (match["added"] or "").replace(" ", "")


def seconds(cell: Cell, mark: DecimalMark, unit: str | None, *, of_a_set: bool) -> Decimal | None:
    """Read a duration.

    Args:
        cell: not blank.
        mark: what stands before decimals.
        unit: of plain numbers, `s` or `min`; None if that is not known.
        of_a_set: whether hours would be a slip.

    Returns:
        Seconds; None for a plain number whose unit is not known.

    Raises:
        QuantityError: it is none.
    """
    if isinstance(cell, time | timedelta | datetime):
        return _clock_seconds(cell, of_a_set=of_a_set)
    if isinstance(cell, str):
        found = _written_seconds(cell)
        if found is not None:
            return found
    plain, own_unit = with_unit(cell, mark)
    unit = own_unit or unit
    if unit is None:
        return None
    if unit not in {"s", "min"}:
        raise QuantityError("unknown_unit", f"{_quoted(cell)} is no duration; write seconds, or m:ss.")
    return plain * S_PER_MIN if unit == "min" else plain


def _clock_seconds(cell: time | timedelta | datetime, *, of_a_set: bool) -> Decimal:
    if isinstance(cell, datetime):
        raise QuantityError("not_a_duration", f"{_quoted(cell)} is a date; write seconds, or m:ss as text.")
    span = (
        cell
        if isinstance(cell, timedelta)
        else timedelta(hours=cell.hour, minutes=cell.minute, seconds=cell.second, microseconds=cell.microsecond)
    )
    total = Decimal(span.days * 86_400 + span.seconds) + Decimal(span.microseconds) / 1_000_000
    if of_a_set and total >= S_PER_MIN * MIN_PER_H:
        raise QuantityError(
            "hours_for_minutes",
            f"The spreadsheet keeps this cell as {span}, hours and minutes; if it means minutes and seconds, write "
            "seconds as a number.",
        )
    return total


def _written_seconds(text: str) -> Decimal | None:
    clock = _CLOCK.fullmatch(text)
    if clock is not None:
        hours, minutes, rest = clock.groups()
        return Decimal(int(hours or 0) * MIN_PER_H + int(minutes)) * S_PER_MIN + Decimal(rest.replace(",", "."))
    parts = _PARTS.fullmatch(text)
    if parts is None or not any(parts.groups()):
        return None
    hours, minutes, rest = (int(part or 0) for part in parts.groups())
    return Decimal((hours * MIN_PER_H + minutes) * S_PER_MIN + rest)


def metres(value: Decimal, unit: str) -> Decimal:
    """Convert a distance to metres, to the centimetre.

    Raises:
        QuantityError: the unit is none of a distance.
    """
    if unit not in _METRES:
        raise QuantityError("unknown_unit", f"{unit} is no unit of a distance; use m, km, mi or yd.")
    return (value * _METRES[unit]).quantize(Decimal("0.01"))


def _quoted(cell: Cell) -> str:
    return repr(written(cell)[:60])
