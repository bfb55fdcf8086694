"""JSON with exact numbers, for answers and refusals alike."""

from decimal import Decimal
from typing import Any

import orjson
from django.utils.functional import Promise


def encode(data: Any) -> bytes:
    """Write a value as JSON; a Decimal becomes the number of its own digits, without a float between."""
    return orjson.dumps(data, default=_encode_other)


def _encode_other(value: Any) -> Any:
    if isinstance(value, Decimal):
        return orjson.Fragment(_number(value))
    if isinstance(value, Promise):
        return str(value)
    if isinstance(value, (set, frozenset)):
        return sorted(value)
    raise TypeError(f"{type(value).__name__} has no JSON form")


def _number(value: Decimal) -> bytes:
    text = format(value, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return b"0" if text == "-0" else text.encode()
