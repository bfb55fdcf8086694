"""How a value stands in a cell of a CSV file, and in JSON."""

from collections.abc import Mapping
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

import orjson

FORMULA_STARTS: Final = frozenset("=+-@\t\r\n\0＝＋－＠")  # noqa: RUF001 -- the full-width twins, which spreadsheets take as well
"""A text that starts with one of these is a formula to a spreadsheet. OWASP, CSV injection; ASVS 1.2.10."""


def cell(value: Any) -> str | int | float:
    """Return a value as the text of a cell; numbers stay numbers, and a text that would be a formula gets a `'`."""
    if isinstance(value, str):
        return _harmless(value)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return value
    return f"{value:f}" if isinstance(value, Decimal) else _harmless(_text(value))


def _harmless(text: str) -> str:
    # Spreadsheets that trim what they read would see the formula behind the spaces.
    return f"'{text}" if text and (text[0] in FORMULA_STARTS or text.lstrip()[:1] in FORMULA_STARTS) else text


def _text(value: Any) -> str:
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    shown = plain(value)
    return shown if isinstance(shown, str) else orjson.dumps(shown).decode()


def plain(value: Any) -> Any:
    """Return a value as JSON has it: decimals as text, which keeps their digits; bytes as text, or in hex."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, (bytes, memoryview)):
        return _decoded(bytes(value))
    if isinstance(value, Mapping):
        return {str(name): plain(one) for name, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(one) for one in value]
    return value


def _decoded(content: bytes) -> str:
    try:
        return content.decode()
    except UnicodeDecodeError:
        return content.hex()
