"""What every answer must be, whatever was asked."""

from typing import Any, Final

from coaching.http.problem_types import PROBLEM_TYPES

_TYPES: Final = frozenset(kind.uri for kind in PROBLEM_TYPES.values())
_LEAKS: Final = ("Traceback", "psycopg", 'File "', "SELECT ", "INSERT ", "coaching_", "site-packages")


def fault_of(answer: Any) -> str | None:
    """Return what is wrong with an answer: a fault of ours, a refusal that is no problem document, a leak."""
    if answer.status_code < 400:
        return None
    text = answer.content.decode(errors="replace")
    if answer.status_code >= 500:
        return f"{answer.status_code}: {text[:300]}"
    if answer.headers["Content-Type"] != "application/problem+json":
        return f"{answer.status_code} of {answer.headers['Content-Type']}: {text[:300]}"
    document = answer.json()
    if document["status"] != answer.status_code or document["type"] not in _TYPES or not document["detail"]:
        return f"no documented problem: {text[:300]}"
    leaks = [word for word in _LEAKS if word in text]
    return f"{answer.status_code} tells {leaks}: {text[:300]}" if leaks else None
