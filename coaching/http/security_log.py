"""Writes down who was let in, who was turned away and what left the service in bulk: by ids, nothing personal."""

import logging
from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponseBase

from coaching.http.request_id import request_id_of
from coaching.log_lines import SECURITY_LOGGER

_LOG: Final = logging.getLogger(SECURITY_LOGGER)
_TURNED_AWAY: Final = frozenset({401, 403, 429})
_FAILED_FROM: Final = 400
_TOLD: Final = frozenset(
    {"sessions", "second_factor", "password_resets", "invitations", "api_keys", "exports", "erasures"}
)
"""Resources of which what was done is told too: ways in, and ways out for data."""


class SecurityLogMiddleware:
    """Looks at each operation's answer; the request's id finds the same request in the audit trail."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and write a line where the answer is one to be told."""
        response = self.get_response(request)
        operation = _operation_of(request)
        if operation is not None:
            _tell(request, operation, response.status_code)
        return response


def _operation_of(request: HttpRequest) -> str | None:
    view = getattr(request.resolver_match, "func", None)
    operations = getattr(getattr(view, "cls", None), "operations", None)
    return None if operations is None else str(operations.get(request.method, "no operation"))


def _tell(request: HttpRequest, operation: str, status: int) -> None:
    if status in _TURNED_AWAY:
        outcome = "turned away"
    elif status < _FAILED_FROM and request.method != "GET" and operation.partition(".")[0] in _TOLD:
        outcome = "done"
    else:
        return
    principal = getattr(request, "principal", None)
    caller = f"{principal.kind} {principal.credential_id} of {principal.business_id}" if principal else "nobody known"
    _LOG.info("%s: %s %d for %s, request %s", outcome, operation, status, caller, request_id_of(request))
