"""What every answer carries so that a browser treats it as data: no scripts, no frames, no guessing, no cookies."""

from collections.abc import Callable
from typing import Any, Final

from django.http import HttpRequest, HttpResponseBase

from coaching.http.problem_documents import Problem, problem_response

_POLICY: Final = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
_METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
_OF_PAGES: Final = "GET, HEAD"


class SecurityHeadersMiddleware:
    """Adds what Django's own middleware does not; pages that need more than data set a policy of their own."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and mark the answer."""
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", _POLICY)
        # Other sites may not embed it; what they may fetch is for CORS to say.
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return response

    def process_view(self, request: HttpRequest, view: Any, _args: Any, _kwargs: Any) -> HttpResponseBase | None:
        """Refuse TRACE and invented methods on pages; operations list their methods themselves."""
        if request.method in _METHODS or hasattr(getattr(view, "cls", None), "operations"):
            return None
        return problem_response(
            Problem("method_not_allowed", "This page is read with GET.", headers={"Allow": _OF_PAGES}), request
        )
