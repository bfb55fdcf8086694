"""Dates and times of day as tables hold them, and whether the day or the month comes first."""

import re
from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Final, Literal

from logs.imports.constants import FIRST_YEAR, TWO_DIGIT_YEARS_FROM
from logs.imports.tables import Cell, written

DateOrder = Literal["dmy", "mdy"]

DATE_ORDERS: Final[tuple[DateOrder, ...]] = ("dmy", "mdy")
"""Which comes first in a date of three numbers, the day or the month. Practice."""

_TIME: Final = r"(?:[T ,]+(?P<time>[0-9]{1,2}[:.h][0-9]{2}.*))?"
_ISO: Final = re.compile(rf"(?P<y>[0-9]{{4}})[-/.](?P<m>[0-9]{{1,2}})[-/.](?P<d>[0-9]{{1,2}}){_TIME}")
_NUMBERS: Final = re.compile(rf"(?P<a>[0-9]{{1,2}})[-/. ](?P<b>[0-9]{{1,2}})[-/. ](?P<y>[0-9]{{4}}|[0-9]{{2}}){_TIME}")
_WEEKDAY: Final = r"(?i)(?:[a-z]{3,9}\.?,?\s+)?"
_DAY: Final = r"(?P<d>[0-9]{1,2})(?:st|nd|rd|th)?"
_NAMED: Final = (
    re.compile(rf"{_WEEKDAY}{_DAY}[-. ]+(?P<month>[a-z]{{3,9}})[-., ]+(?P<y>[0-9]{{2,4}}){_TIME}"),
    re.compile(rf"{_WEEKDAY}(?P<month>[a-z]{{3,9}})\.? +{_DAY},? +(?P<y>[0-9]{{4}}){_TIME}"),
)
_CLOCK: Final = re.compile(
    r"(?P<h>[0-9]{1,2})[:.h](?P<m>[0-9]{2})(?::(?P<s>[0-9]{2})(?:[.,][0-9]{1,6})?)?\s*(?P<half>[aApP])?\.?[mM]?\.?"
    r"(?P<offset>Z|[+-][0-9]{2}:?[0-9]{2})?"
)
_MONTHS: Final = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_SHORTEST_MONTH: Final = 3
_TWO_DIGITS: Final = 2
_NOON_H: Final = 12
_LAST_MONTH: Final = 12


class DateError(ValueError):
    """A cell that is no date or time of day.

    Attributes:
        code: a stable word for programs.
    """

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


def read_date(cell: Cell, order: DateOrder | None) -> tuple[date | None, time | None]:
    """Read a date, and the time of day if one stands beside it.

    Args:
        cell: not blank.
        order: how three numbers are meant; None if that is not known.

    Returns:
        The date, None where it can't be told without the order; and the time.

    Raises:
        DateError: it is no date.
    """
    if isinstance(cell, datetime):
        # A spreadsheet keeps a plain date as its midnight.
        return _of_a_log(cell.date(), cell), (cell.time().replace(microsecond=0) if cell.time() != time(0) else None)
    if isinstance(cell, date):
        return _of_a_log(cell, cell), None
    if not isinstance(cell, str):
        raise DateError("not_a_date", f"{written(cell)[:60]!r} is not a date; write it as YYYY-MM-DD.")
    match, year, month, day = _parts(cell, order)
    at = read_time(match["time"]) if match["time"] else None
    if month is None or day is None:
        return None, at
    try:
        return _of_a_log(date(year, month, day), cell), at
    except ValueError as error:
        if isinstance(error, DateError):
            raise
        raise DateError(
            "not_a_date", f"{cell[:60]!r} is no day of the calendar{_swapped(order)}; correct it."
        ) from None


def _of_a_log(day: date, cell: Cell) -> date:
    if day.year < FIRST_YEAR:
        raise DateError("too_early", f"{written(cell)[:60]!r} is before {FIRST_YEAR}; correct the year.")
    return day


def _swapped(order: DateOrder | None) -> str:
    told = {"dmy": "day before month", "mdy": "month before day"}
    return f" read as {told[order]}" if order else ""


def _parts(text: str, order: DateOrder | None) -> tuple[re.Match[str], int, int | None, int | None]:
    match = _ISO.fullmatch(text)
    if match is not None:
        return match, int(match["y"]), int(match["m"]), int(match["d"])
    match = _NUMBERS.fullmatch(text)
    if match is not None:
        one, other = int(match["a"]), int(match["b"])
        if order is None:
            return match, 0, None, None
        day, month = (one, other) if order == "dmy" else (other, one)
        return match, _year(match["y"]), month, day
    for pattern in _NAMED:
        match = pattern.fullmatch(text)
        if match is not None and (found := _month(match["month"])):
            return match, _year(match["y"]), found, int(match["d"])
    raise DateError("not_a_date", f"{text[:60]!r} is not a date; write it as YYYY-MM-DD.")


def _year(text: str) -> int:
    return int(text) + (TWO_DIGIT_YEARS_FROM if len(text) == _TWO_DIGITS else 0)


def _month(word: str) -> int | None:
    lower = word.lower()
    if len(lower) < _SHORTEST_MONTH:
        return None
    # "sept" beside "sep".
    return next((number for number, name in enumerate(_MONTHS, 1) if name.startswith(lower)), None)


def read_time(cell: Cell) -> time:
    """Read a time of day.

    Raises:
        DateError: it is none.
    """
    if isinstance(cell, datetime):
        return cell.time().replace(microsecond=0)
    if isinstance(cell, time):
        return cell.replace(microsecond=0, tzinfo=None)
    match = _CLOCK.fullmatch(cell.strip()) if isinstance(cell, str) else None
    if match is not None and match["offset"]:
        raise DateError(
            "offset_in_time",
            f"{written(cell)[:60]!r} has an offset from UTC; write the time on the client's clock, without it.",
        )
    if match is not None:
        try:
            return time(_hour(match), int(match["m"]), int(match["s"] or 0))
        except ValueError:
            pass
    raise DateError("not_a_time", f"{written(cell)[:60]!r} is not a time of day; write it as 18:30.")


def _hour(match: re.Match[str]) -> int:
    hour, half = int(match["h"]), (match["half"] or "").lower()
    if not half:
        return hour
    if not 1 <= hour <= _NOON_H:
        raise ValueError
    return hour % _NOON_H + (_NOON_H if half == "p" else 0)


def date_order(cells: Iterable[Cell]) -> tuple[DateOrder | None, bool]:
    """Find whether days or months come first.

    Args:
        cells: the cells of the column of dates.

    Returns:
        The order, None if no date tells; and whether it must be known, since some date is three numbers.
    """
    day_first = month_first = needed = False
    for cell in cells:
        match = _NUMBERS.fullmatch(cell) if isinstance(cell, str) else None
        if match is None:
            continue
        needed = True
        day_first |= int(match["a"]) > _LAST_MONTH
        month_first |= int(match["b"]) > _LAST_MONTH
    if day_first == month_first:
        return None, needed
    return ("dmy" if day_first else "mdy"), needed
