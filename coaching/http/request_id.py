"""An id for each request, echoed to the caller, so that a complaint can be found in the logs."""

import re
from collections.abc import Callable
from typing import Final
from uuid import uuid4

from django.http import HttpRequest, HttpResponseBase

_SANE: Final = re.compile(r"[A-Za-z0-9._-]{1,64}")


def request_id_of(request: HttpRequest) -> str:
    """Return the request's id, made on first use."""
    found: str | None = getattr(request, "request_id", None)
    if found is None:
        sent = request.headers.get("X-Request-Id", "")
        found = sent if _SANE.fullmatch(sent) else uuid4().hex
        request.request_id = found  # type: ignore[attr-defined]  # set for this project's own readers
    return found


class RequestIdMiddleware:
    """Outermost: whatever answers, the answer carries the id."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Name the request, answer it, and mark the answer."""
        request_id = request_id_of(request)
        response = self.get_response(request)
        response.headers["X-Request-Id"] = request_id
        return response
