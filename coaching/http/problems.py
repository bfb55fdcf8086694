"""The one handler of every refusal: in DRF views, in plain ones, and before any view is found."""

import re
import sys
from collections.abc import Callable
from typing import Any, Final

from django.conf import settings
from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from drf_standardized_errors.formatter import ExceptionFormatter
from drf_standardized_errors.handler import ExceptionHandler, exception_handler
from rest_framework import exceptions

from coaching.http.exact_json import encode
from coaching.http.problem_documents import (
    CHALLENGE,
    PROBLEM_MEDIA_TYPE,
    Problem,
    problem_from,
    problem_of,
    problem_response,
)
from coaching.http.request_id import request_id_of

# Django reads the number with int(), which fails on anything else.
_LENGTH: Final = re.compile(r"[0-9]{0,18}")


class ProblemFormatter(ExceptionFormatter):
    """Writes the problem document of what a DRF view raised."""

    def run(self) -> dict[str, Any]:
        """Return the body."""
        request = self.context.get("request")
        return problem_of(self.exc).document(request_id_of(request) if request else "")


class ProblemHandler(ExceptionHandler):
    """Turns what a DRF view raised into a problem document."""

    def convert_known_exceptions(self, exc: Exception) -> Exception:
        """Name the kind of a refusal."""
        known = problem_of(exc)
        if isinstance(exc, (exceptions.NotAuthenticated, exceptions.AuthenticationFailed)):
            known.headers["WWW-Authenticate"] = getattr(exc, "auth_header", None) or CHALLENGE
        return known

    def get_response(self, exc: Any, data: dict[str, Any]) -> Any:
        """Write it as problem+json even where the view renders something else."""
        return HttpResponse(encode(data), status=exc.status_code, content_type=PROBLEM_MEDIA_TYPE, headers=exc.headers)


def handle_exception(exc: Exception, context: Any) -> Any:
    """Answer what a DRF view raised: Django REST framework's `EXCEPTION_HANDLER`."""
    return exception_handler(exc, context)


class ProblemMiddleware:
    """Catches what views outside DRF raise, and hosts that are not ours."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Refuse a forged host, and a body of no clear length, before anything reads the request."""
        try:
            request.get_host()
        except SuspiciousOperation:
            return problem_response(
                Problem("malformed", "This host name is not served here; check the address."), request
            )
        if not _LENGTH.fullmatch(request.META.get("CONTENT_LENGTH") or ""):
            return problem_response(Problem("malformed", "Content-Length is a whole number of bytes."), request)
        if "Transfer-Encoding" in request.headers:
            # Django would take a body of no stated length for an empty one, and do what that asks for.
            sentence = "Send the body whole, with its Content-Length, not in chunks."
            return problem_response(Problem("malformed", sentence, code="length_required"), request)
        if settings.SECURE_SSL_REDIRECT and not request.is_secure():
            sentence = "Send this over https, with another credential than this one, which has travelled in the clear."
            return problem_response(Problem("forbidden", sentence, code="tls_required"), request)
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse:
        """Answer what a plain view raised."""
        return problem_from(exception, request)


def refuse_bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler400."""
    return problem_from(exception, request)


def refuse_forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler403."""
    return problem_from(exception, request)


def refuse_unknown_path(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler404."""
    return problem_from(exception, request)


def refuse_with_fault(request: HttpRequest) -> HttpResponse:
    """Django's handler500: what middleware raised."""
    return problem_from(sys.exc_info()[1], request)
