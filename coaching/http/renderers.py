"""JSON answers: exact numbers, instants with their offset."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import orjson
from django.utils.functional import Promise
from rest_framework.renderers import BaseRenderer


class OrjsonRenderer(BaseRenderer):
    """Writes `application/json`."""

    media_type = "application/json"
    format = "json"
    charset = None

    def render(
        self,
        data: Any,
        _media_type: str | None = None,
        _context: Mapping[str, Any] | None = None,
    ) -> bytes:
        """Write an answer; none is an empty body."""
        return b"" if data is None else encode(data)


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
