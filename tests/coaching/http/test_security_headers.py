"""Every answer, whatever it is, tells a browser to treat it as data and to keep nothing of it."""

import re
from typing import Any
from uuid import UUID

import pytest
from django.test import Client as Browser

from tests.coaching.test_policy import VIEWS
from tests.scenario import Cast

DATA = {
    "Content-Security-Policy": "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
NO_ID = UUID("00000000-0000-7000-8000-000000000000")


def _addresses() -> list[tuple[str, list[str]]]:
    """Every path of operations, with its methods."""
    found = [(path, sorted(view.operations)) for path, view in VIEWS if hasattr(view, "operations")]
    return [("/" + re.sub(r"<\w+:\w+>", str(NO_ID), path.removesuffix("/?$")), methods) for path, methods in found]


def _assert_data(answer: Any) -> None:
    assert {name: answer.headers.get(name) for name in DATA} == DATA
    assert answer.headers["Cache-Control"] == "no-store"
    assert not answer.cookies
    assert not {"Server", "X-Powered-By", "Set-Cookie"} & set(answer.headers)


def test_every_operation_and_every_refusal_of_it_is_marked_as_data(cast: Cast) -> None:
    owner, nobody = cast.api(cast.owner), Browser()
    addresses = _addresses()
    assert len(addresses) > 50
    for path, methods in addresses:
        asked = [owner.generic(method, path) for method in methods]
        strange = [owner.generic("TRACE", path), nobody.generic("BREW", path)]
        assert {answer.status_code for answer in strange} <= {401, 405}, path
        for answer in (*asked, *strange, nobody.generic(methods[0], path)):
            _assert_data(answer)
            assert "RateLimit-Policy" in answer.headers, path


@pytest.mark.parametrize("path", ["/docs", "/docs/problems", "/api/v1/schema", "/healthz", "/readyz", "/nowhere"])
def test_pages_run_nothing_of_others_and_set_no_cookie(path: str, cast: Cast) -> None:
    answer = Browser().get(path)
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "frame-ancestors 'none'" in answer.headers["Content-Security-Policy"]
    assert {name: answer.headers[name] for name in DATA if name != "Content-Security-Policy"} == {
        name: value for name, value in DATA.items() if name != "Content-Security-Policy"
    }
    assert not answer.cookies
    assert Browser().generic("TRACE", path).status_code in {404, 405}


@pytest.mark.parametrize("path", ["/docs", "/docs/?script=", "/api/v1/schema"])
def test_pages_tell_nothing_to_options(path: str, cast: Cast) -> None:
    answer = Browser(raise_request_exception=False).options(path)
    assert answer.status_code == 405
    assert "GET" in answer.headers["Allow"]


def test_what_is_refused_before_any_view_is_marked_too(cast: Cast) -> None:
    forged = Browser().get("/api/v1/me", HTTP_HOST="evil.example")
    assert forged.status_code == 400
    _assert_data(forged)


def test_over_tls_a_browser_is_told_to_stay_there(settings: Any, cast: Cast) -> None:
    settings.SECURE_HSTS_SECONDS, settings.SECURE_HSTS_INCLUDE_SUBDOMAINS = 31_536_000, True
    answer = Browser().get("/api/v1/me", secure=True)
    assert answer.headers["Strict-Transport-Security"].startswith("max-age=31536000; includeSubDomains")
