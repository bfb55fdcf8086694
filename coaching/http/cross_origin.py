"""CORS: off unless a business lists the origin of its own front end; never with cookies, never a wildcard.

A preflight brings no credential, so it is answered where any business lists the origin. The request itself is readable
for the page only where the caller's own business lists it, or where there is no caller and so nothing of a business.
"""

from collections.abc import Callable
from typing import Any, Final

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils.cache import patch_vary_headers

from coaching.http.fields import ORIGIN
from coaching.http.problem_documents import Problem, problem_response
from coaching.http.rate_limits import admit
from coaching.selectors.businesses import is_allowed_origin, is_origin_of_business

_MAX_AGE_S: Final = 600
_REQUEST_HEADERS: Final = "Accept, Authorization, Content-Type, Idempotency-Key, If-Match, If-None-Match, Prefer"
_EXPOSED: Final = (
    "Content-Disposition, ETag, Idempotency-Replayed, Link, Location, Preference-Applied, RateLimit, RateLimit-Policy, "
    "Retry-After, WWW-Authenticate, X-Request-Id"
)


class CrossOriginMiddleware:
    """Answers preflights, and says of an operation's answer whether the page that asked may read it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and mark the answer of an operation."""
        response = self.get_response(request)
        if getattr(request, "is_operation", False):
            patch_vary_headers(response, ["Origin"])
            origin = _origin(request)
            if origin and _may_read(request, origin):
                response.headers["Access-Control-Allow-Origin"] = origin
                response.headers["Access-Control-Expose-Headers"] = _EXPOSED
        return response

    def process_view(self, request: HttpRequest, view: Any, _args: Any, _kwargs: Any) -> HttpResponseBase | None:
        """Answer a preflight from an origin that a business lists."""
        operations = getattr(getattr(view, "cls", None), "operations", None)
        if operations is None:
            return None
        request.is_operation = True  # type: ignore[attr-defined]  # for the answer, above
        if request.method != "OPTIONS" or "Access-Control-Request-Method" not in request.headers:
            return None
        try:
            admit(request, "", None)
        except Problem as problem:
            return problem_response(problem, request)
        if not _may_read(request, _origin(request)):
            return None
        return HttpResponse(
            status=204,
            headers={
                "Access-Control-Allow-Methods": ", ".join(sorted(operations)),
                "Access-Control-Allow-Headers": _REQUEST_HEADERS,
                "Access-Control-Max-Age": str(_MAX_AGE_S),
                "Cache-Control": "no-store",
            },
        )


def _origin(request: HttpRequest) -> str:
    sent = request.headers.get("Origin", "")
    return sent if ORIGIN.fullmatch(sent) else ""


def _may_read(request: HttpRequest, origin: str) -> bool:
    if not origin:
        return False
    principal = getattr(request, "principal", None)
    try:
        if principal is None:
            return is_allowed_origin(origin=origin)
        return is_origin_of_business(business_id=principal.business_id, origin=origin)
    except DatabaseError:
        return False
