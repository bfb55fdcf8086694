"""The figures of a line: numbers and units into seconds, metres, kilocalories, loads and percentages, within limits."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from programs.prescription.constants import (
    CALORIES_MAX_KCAL,
    DISTANCE_MAX_M,
    DURATION_MAX_S,
    S_PER_MIN,
    SESSION_MAX_MIN,
)
from programs.prescription.notation.lexer import Word
from programs.prescription.notation.remarks import Remarks
from programs.prescription.vocabulary import LoadUnit

S_PER_H: Final = 3600
"""Seconds in an hour. Source: the definition of the hour."""

_WHOLE_DIGITS_MAX: Final = 9
_DECIMALS_MAX: Final = 6
_LB: Final = ("lb", "po", "#")
_METRES: Final[dict[str, Decimal]] = {
    "m": Decimal(1),
    "metre": Decimal(1),
    "meter": Decimal(1),
    "km": Decimal(1000),
    "kilometre": Decimal(1000),
    "kilometer": Decimal(1000),
    "yd": Decimal("0.9144"),
    "yard": Decimal("0.9144"),
    "mi": Decimal("1609.344"),
    "mile": Decimal("1609.344"),
}
"""Metres in each unit of length. Source: international yard and pound agreement, 1959."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure or a range of two, with its unit as written; ``low`` may be the greater if it was written first."""

    low: Decimal
    high: Decimal
    unit: str = ""


def number(word: Word, remarks: Remarks) -> Decimal | None:
    """Read a number, or say that it is too long to be one."""
    return _decimal(word.text, word, remarks)


def whole(word: Word, remarks: Remarks, *, least: int, most: int, what: str) -> int | None:
    """Read a whole number within limits, or say what it may be."""
    text = word.text
    if text.isdecimal() and len(text) <= _WHOLE_DIGITS_MAX and least <= int(text) <= most:
        return int(text)
    value = number(word, remarks)
    if value is None:
        return None
    if value != value.to_integral_value() or not least <= value <= most:
        remarks.error(word, "out_of_range", f"{word.text} {what}; expected a whole number from {least} to {most}.")
        return None
    return int(value)


def within(value: Decimal, word: Word, remarks: Remarks, *, least: Decimal, most: Decimal, what: str) -> Decimal | None:
    """Give a value back if it lies within limits, or say what it may be."""
    if least <= value <= most:
        return value
    remarks.error(word, "out_of_range", f"{what} of {value:f}; expected {least:f} to {most:f}.")
    return None


def seconds(word: Word, remarks: Remarks, *, most: int = DURATION_MAX_S, longest: bool = False) -> int | None:
    """Read a time in seconds; of a range, which cannot be held, the shorter (or the longest) and a warning."""
    spread = _clock(word, remarks) if ":" in word.text else _spoken_time(word, remarks)
    value = None if spread is None else _one_of(spread, word, remarks, greatest=longest)
    if value is None:
        return None
    if value != value.to_integral_value() or not 0 <= value <= most:
        remarks.error(word, "out_of_range", f"{word.text} is {value:f} s; expected whole seconds up to {most}.")
        return None
    return int(value)


def minutes(word: Word, remarks: Remarks) -> int | None:
    """Read a time, or a bare number, as whole minutes."""
    if word.type == "NUMBER":
        return whole(word, remarks, least=1, most=SESSION_MAX_MIN, what="minutes")
    value = seconds(word, remarks, most=SESSION_MAX_MIN * S_PER_MIN)
    if value is None:
        return None
    if value < S_PER_MIN or value % S_PER_MIN:
        remarks.error(word, "out_of_range", f"{word.text} is not in whole minutes; expected a time such as 12 min.")
        return None
    return value // S_PER_MIN


def metres(word: Word, remarks: Remarks) -> Decimal | None:
    """Read a distance in metres."""
    spread = _spread(word, remarks)
    value = None if spread is None else _one_of(spread, word, remarks)
    if spread is None or value is None:
        return None
    value *= _METRES[spread.unit.removesuffix("s")]
    if not 0 < value <= DISTANCE_MAX_M:
        remarks.error(word, "out_of_range", f"{word.text}; expected a distance over 0 up to {DISTANCE_MAX_M} m.")
        return None
    return value


def calories(word: Word, remarks: Remarks) -> int | None:
    """Read kilocalories as a machine's monitor counts them."""
    spread = _spread(word, remarks)
    value = None if spread is None else _one_of(spread, word, remarks)
    if value is None:
        return None
    if value != value.to_integral_value() or not 1 <= value <= CALORIES_MAX_KCAL:
        remarks.error(word, "out_of_range", f"{word.text}; expected whole calories from 1 to {CALORIES_MAX_KCAL}.")
        return None
    return int(value)


def load(word: Word, remarks: Remarks) -> tuple[Decimal, LoadUnit] | None:
    """Read a load with its unit; of a range the lighter, with a warning."""
    spread = _spread(word, remarks)
    value = None if spread is None else _one_of(spread, word, remarks)
    if spread is None or value is None:
        return None
    return value, "lb" if spread.unit.startswith(_LB) else "kg"


def percentage(word: Word, remarks: Remarks) -> Decimal | None:
    """Read a percentage, signed or not; of a range the lower, with a warning."""
    spread = _spread(word, remarks)
    return None if spread is None else _one_of(spread, word, remarks)


def _one_of(spread: Spread, word: Word, remarks: Remarks, *, greatest: bool = False) -> Decimal:
    kept = max(spread.low, spread.high) if greatest else min(spread.low, spread.high)
    if spread.low != spread.high:
        remarks.warning(
            word,
            "range_not_held",
            f"{word.text} is a range, which cannot be held here; {kept:f} {spread.unit} is kept.",
        )
    return kept


def _spread(word: Word, remarks: Remarks) -> Spread | None:
    """Read ``-20 kg``, ``80-85 kg``, ``75%``: a sign, one figure or two, a unit."""
    text = word.text.strip()
    sign = -1 if text.startswith("-") else 1
    figures, unit = _split_unit(text.lstrip("+-").strip())
    low, dash, high = figures.partition("-")
    first = _decimal(low, word, remarks)
    second = _decimal(high, word, remarks) if dash else first
    return None if first is None or second is None else Spread(sign * first, sign * second, unit)


def _split_unit(text: str) -> tuple[str, str]:
    end = max((place for place, character in enumerate(text) if character.isdigit()), default=-1) + 1
    return text[:end], text[end:].strip().split(" ", maxsplit=1)[0]


def _clock(word: Word, remarks: Remarks) -> Spread | None:
    ends = [_clock_s(part, word, remarks) for part in word.text.split("-")]
    if any(end is None for end in ends):
        return None
    known = [end for end in ends if end is not None]
    return Spread(known[0], known[-1], "s")


def _clock_s(text: str, word: Word, remarks: Remarks) -> Decimal | None:
    total = Decimal(0)
    for part in text.split(":"):
        value = _decimal(part or "0", word, remarks)
        if value is None:
            return None
        total = total * S_PER_MIN + value
    return total


def _spoken_time(word: Word, remarks: Remarks) -> Spread | None:
    """Read ``90s``, ``2 min``, ``2-3 min``, ``2 min 30 s``."""
    first, unit, rest = _first_figure(word.text)
    value = _decimal(first, word, remarks)
    if value is None:
        return None
    if not rest:
        return Spread(value * _unit_s(unit), value * _unit_s(unit), "s")
    second, second_unit, _ = _first_figure(rest.lstrip("- "))
    further = _decimal(second, word, remarks)
    if further is None:
        return None
    if unit in ("", "-"):
        return Spread(value * _unit_s(second_unit), further * _unit_s(second_unit), "s")
    total = value * _unit_s(unit) + further * _unit_s(second_unit)
    return Spread(total, total, "s")


def _first_figure(text: str) -> tuple[str, str, str]:
    """Take the first figure, the unit after it, and what is left."""
    end = 0
    while end < len(text) and (text[end].isdigit() or text[end] in ".,"):
        end += 1
    after = end
    while after < len(text) and not text[after].isdigit():
        after += 1
    return text[:end], text[end:after].strip(), text[after:]


def _unit_s(unit: str) -> int:
    if unit.startswith("h"):
        return S_PER_H
    return S_PER_MIN if unit.startswith(("m", "'")) else 1


def _decimal(text: str, word: Word, remarks: Remarks) -> Decimal | None:
    figure = text.strip().replace(",", ".")
    digits, _, decimals = figure.partition(".")
    if len(digits) > _WHOLE_DIGITS_MAX or len(decimals) > _DECIMALS_MAX or not digits.isdigit():
        remarks.error(
            word, "out_of_range", f"A number has at most {_WHOLE_DIGITS_MAX} digits and {_DECIMALS_MAX} decimals."
        )
        return None
    return Decimal(figure)
