"""Refusals as RFC 9457 problem documents: which kind and status each is, and what its document says.

Imported while Django REST framework is still loading its own views, so it imports none of them.
"""

import logging
from collections.abc import Iterable, Mapping
from typing import Any, Final
from urllib.parse import quote

from django.core.exceptions import (
    BadRequest,
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
)
from django.core.signals import got_request_exception
from django.db import IntegrityError, InterfaceError, InternalError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, UnreadablePostError
from psycopg.errors import (
    ForeignKeyViolation,
    IdleInTransactionSessionTimeout,
    LockNotAvailable,
    QueryCanceled,
    TransactionTimeout,
    UniqueViolation,
)
from rest_framework import exceptions
from rest_framework.settings import api_settings

from coaching import refusals
from coaching.http.exact_json import encode
from coaching.http.problem_types import PROBLEM_TYPES, ProblemType
from coaching.http.request_id import request_id_of
from coaching.refusals import Fault, Refusal

_LOG: Final = logging.getLogger(__name__)
PROBLEM_MEDIA_TYPE: Final = "application/problem+json"
RETRY_AFTER_S: Final = 2
MAX_FAULTS: Final = 200
CHALLENGE: Final = 'Bearer realm="counterpoise"'

# Nearest kind first: a refusal is answered as the first kind that it is.
_KINDS: Final[tuple[tuple[type[Refusal], str], ...]] = (
    (refusals.UnknownObject, "unknown_object"),
    (refusals.Invalid, "invalid"),
    (refusals.BadCredentials, "unauthenticated"),
    (refusals.Forbidden, "forbidden"),
    (refusals.NotFound, "not_found"),
    (refusals.Gone, "gone"),
    (refusals.Conflict, "conflict"),
    (refusals.PreconditionFailed, "precondition_failed"),
    (refusals.PreconditionRequired, "precondition_required"),
    (refusals.Unprocessable, "unprocessable"),
    (refusals.TooMany, "too_many"),
)
_BY_STATUS: Final = {
    400: "malformed",
    401: "unauthenticated",
    403: "forbidden",
    404: "not_found",
    405: "method_not_allowed",
    406: "not_acceptable",
    413: "too_large",
    415: "unsupported_media_type",
}
_SENTENCES: Final = {
    "forbidden": "Your role, or the scopes of your key, do not include this operation; GET /api/v1/me shows them.",
    "not_found": "There is nothing at this path that you may see; check the path and the id.",
    "not_acceptable": "Set Accept to application/json or leave it out.",
    "too_large": "The body is larger than 8 MiB; send it in parts.",
    "unsupported_media_type": "Send the body as JSON with Content-Type: application/json.",
    "server_error": "Something went wrong on our side; give us the request_id if it happens again.",
    "unavailable": "The database can't be reached just now; send the request again in a moment.",
    "unauthenticated": "Send Authorization: Bearer with a session token or an API key.",
}


_ENDED: Final = (IdleInTransactionSessionTimeout, TransactionTimeout)
_TOO_LONG: Final = "This took longer than the database lets a request take; ask for less, or send it again in a moment."
_BUSY: Final[Mapping[type, str]] = {
    LockNotAvailable: "Another request is changing the same thing; send this again in a moment.",
    QueryCanceled: _TOO_LONG,
    TransactionTimeout: _TOO_LONG,
}


class Problem(exceptions.APIException):
    """A refusal on its way out, with all that its document says."""

    def __init__(
        self,
        kind: str,
        detail: str | None = None,
        *,
        code: str | None = None,
        faults: Iterable[Fault] = (),
        headers: Mapping[str, str] | None = None,
        extra: Mapping[str, Any] | None = None,
    ) -> None:
        self.kind: ProblemType = PROBLEM_TYPES[kind]
        self.sentence = detail or _SENTENCES.get(kind, self.kind.sentence)
        self.problem_code = code or kind
        self.faults = tuple(faults)
        self.extra = dict(extra or {})
        self.headers = dict(headers or {})
        self.status_code = self.kind.status
        if self.kind.status == PROBLEM_TYPES["unauthenticated"].status:
            self.headers.setdefault("WWW-Authenticate", CHALLENGE)
        super().__init__(self.sentence, code=self.problem_code)

    def document(self, request_id: str) -> dict[str, Any]:
        """The body of the answer; of thousands of faults the first ones are listed."""
        listed = self.faults[:MAX_FAULTS]
        return {
            **self.extra,
            "type": self.kind.uri,
            "title": self.kind.title,
            "status": self.kind.status,
            "detail": self.sentence,
            "code": self.problem_code,
            "errors": [{"pointer": fault.pointer, "code": fault.code, "detail": fault.detail} for fault in listed],
            "request_id": request_id,
        }


def problem_response(problem: Problem, request: HttpRequest) -> HttpResponse:
    """Write a problem down, whatever the caller accepts."""
    return HttpResponse(
        encode(problem.document(request_id_of(request))),
        status=problem.kind.status,
        content_type=PROBLEM_MEDIA_TYPE,
        headers={"Cache-Control": "no-store", **problem.headers},
    )


def problem_from(error: BaseException | None, request: HttpRequest) -> HttpResponse:
    """Answer anything raised outside a DRF view; what is our fault is logged with its stack, never shown."""
    problem = problem_of(error)
    if problem.kind.status >= PROBLEM_TYPES["server_error"].status:
        _LOG.error("request %s: %s", request_id_of(request), problem.kind.code, exc_info=error)
        got_request_exception.send(sender=None, request=request)
    return problem_response(problem, request)


def problem_of(error: BaseException | None) -> Problem:
    """Return the problem that an exception is; what nobody foresaw is a server error."""
    if isinstance(error, Problem):
        return error
    if isinstance(error, Refusal):
        return _from_refusal(error)
    if isinstance(error, exceptions.APIException):
        return _from_drf(error)
    return _from_django(error)


def _from_refusal(error: Refusal) -> Problem:
    for kind, code in _KINDS:
        if isinstance(error, kind):
            headers = {"Retry-After": str(error.retry_after_s)} if isinstance(error, refusals.TooMany) else {}
            return Problem(code, error.detail, code=error.code, faults=error.faults, extra=error.extra, headers=headers)
    return Problem("server_error")


def _from_django(error: BaseException | None) -> Problem:
    if error is not None and _is_unavailable(error):
        return Problem("unavailable", _BUSY.get(type(error.__cause__)), headers={"Retry-After": str(RETRY_AFTER_S)})
    if isinstance(error, IntegrityError) and isinstance(error.__cause__, UniqueViolation):
        return Problem("conflict", "Another request just made the same thing; read it, and send yours again if needed.")
    if isinstance(error, IntegrityError) and isinstance(error.__cause__, ForeignKeyViolation):
        return Problem("conflict", "What this belongs to went while it was being written; read it again.")
    if isinstance(error, RequestDataTooBig):
        return Problem("too_large")
    if isinstance(error, (SuspiciousOperation, BadRequest, UnreadablePostError)):
        return Problem("malformed", "The request can't be taken as it is: check its host, headers and body.")
    if isinstance(error, Http404):
        return Problem("not_found")
    if isinstance(error, PermissionDenied):
        return Problem("forbidden")
    return Problem("server_error")


def _is_unavailable(error: BaseException) -> bool:
    # The database's own limits of time end a session in an error that Django files elsewhere.
    ended = isinstance(error, InternalError) and isinstance(error.__cause__, _ENDED)
    return ended or isinstance(error, (OperationalError, InterfaceError))


def _from_drf(error: exceptions.APIException) -> Problem:
    if isinstance(error, exceptions.ValidationError):
        return _from_validation(error)
    if isinstance(error, exceptions.MethodNotAllowed):
        return Problem("method_not_allowed", f"{error.detail} The Allow header lists what is offered.")
    kind = _BY_STATUS.get(error.status_code, "server_error")
    own_words = kind in {"malformed", "unauthenticated"} and error.detail != error.default_detail
    return Problem(kind, str(error.detail) if own_words else None)


def _from_validation(error: exceptions.ValidationError) -> Problem:
    from drf_standardized_errors.formatter import flatten_errors

    faults = [Fault(_pointer(found.attr), found.code, _told(found.detail)) for found in flatten_errors(error.detail)]
    return Problem("invalid", _summary(faults), faults=faults)


def _summary(faults: list[Fault]) -> str:
    first = f"{faults[0].pointer}: {faults[0].detail}" if faults else "Nothing of it can be taken."
    more = len(faults) - 1
    return first if more < 1 else f"{first} And {more} more {'fault' if more == 1 else 'faults'}, listed in errors."


def _told(detail: str) -> str:
    return detail if detail.endswith((".", "?", "!")) else f"{detail}."


def _pointer(attr: str | None) -> str:
    tail = [part for part in (attr or "").split("/") if part and part != api_settings.NON_FIELD_ERRORS_KEY]
    return "#" + "".join(f"/{quote(part, safe='~!$&()*+,;=:@')}" for part in tail)
