"""Versions of single objects: `ETag: "v3"`, and the `If-Match` that a change must bring."""

import re
from typing import Final

from django.http import HttpRequest

from coaching.actions.row_versions import Versions
from coaching.refusals import PreconditionRequired

_OURS: Final = re.compile(r'(?:W/)?"v([1-9][0-9]{0,8})"')


def etag_of(row_version: int) -> str:
    """Return the tag of a row version."""
    return f'"v{row_version}"'


def required_versions(request: HttpRequest) -> Versions:
    """Return the versions that `If-Match` admits; None admits any (`*`).

    `W/` is ignored: compression marks our strong tags weak, and they name the row, not its bytes.

    Raises:
        PreconditionRequired: the header is missing.
    """
    header = request.headers.get("If-Match", "").strip()
    if not header:
        raise PreconditionRequired("Send If-Match with the ETag of the object as you last read it.")
    if header == "*":
        return None
    return frozenset(int(match[1]) for match in map(_OURS.fullmatch, _tags(header)) if match)


def _tags(header: str) -> list[str]:
    return [tag.strip() for tag in header.split(",")]
