"""Every operation as the attacks call it: with real ids and a body that would do, and one thing changed."""

from collections.abc import Mapping
from typing import Any, Final

from django.db import transaction

from tests.architecture.calls import BODIES, CALLS, Call, Ids
from tests.coaching.test_policy import VIEWS

CALLED: Final[Mapping[str, Call]] = {call.operation: call for call in reversed(CALLS)}
"""One way to call each operation, without its filters where it can do without."""

PARAMETERS: Final[Mapping[str, tuple[str, ...]]] = {
    operation: tuple(parameter.name for parameter in view.parameters_of(method))
    for _path, view in VIEWS
    for method, operation in getattr(view, "operations", {}).items()
}
"""The query parameters of each operation."""


def attack(
    api: Any,
    call: Call,
    ids: Ids,
    *,
    query: str | None = None,
    body: Any = None,
    headers: Mapping[str, str] | None = None,
) -> Any:
    """Call an operation with another query, body or headers, and roll back what it did."""
    path, _mark, usual = call.address(ids).partition("?")
    asked = usual if query is None else query
    sent = body if body is not None or call.operation not in BODIES else call.body(ids)
    extra = {"HTTP_IF_MATCH": "*"} if call.method in {"PATCH", "PUT", "DELETE"} else {}
    extra |= {environ_name(name): value for name, value in (headers or {}).items()}
    data = {} if sent is None else {"data": sent, "format": "json"}
    if "CONTENT_TYPE" in extra and sent is not None:
        data = {"data": str(sent), "content_type": extra.pop("CONTENT_TYPE")}
    with transaction.atomic():
        try:
            return getattr(api, call.method.lower())(f"{path}?{asked}" if asked else path, **data, **extra)
        finally:
            transaction.set_rollback(True)


def environ_name(header: str) -> str:
    """Return a header's name in a WSGI environment."""
    name = header.upper().replace("-", "_")
    return name if name in {"CONTENT_TYPE", "CONTENT_LENGTH"} else f"HTTP_{name}"
