"""What must be written down although the request is refused, whose own changes are rolled back."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest


def note_if_refused(request: Any, note: Callable[[], None]) -> None:
    """Have `note` called once the request's transaction was rolled back, outside any business's scope."""
    plain = getattr(request, "_request", request)
    plain.refusal_notes = [*getattr(plain, "refusal_notes", ()), note]


def write_refusal_notes(request: HttpRequest) -> None:
    """Call what was asked for; `BusinessMiddleware` does, after a refusal."""
    for note in getattr(request, "refusal_notes", ()):
        note()
