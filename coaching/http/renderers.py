"""JSON answers: exact numbers, instants with their offset."""

from collections.abc import Mapping
from typing import Any

from rest_framework.renderers import BaseRenderer

from coaching.http.exact_json import encode


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
