"""CORS: closed until a business lists an origin, open to that business's answers only, never with cookies."""

from typing import Any

import pytest
from django.test import Client as Browser

from coaching.models import AuditEntry
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast

PAGE = "https://app.northern-iron.example"
OTHERS = "https://app.harbour.example"
ALLOW = "Access-Control-Allow-Origin"


def _list(cast: Cast, *origins: str) -> Any:
    owner = cast.api(cast.owner)
    return owner.patch("/api/v1/business", {"allowed_origins": list(origins)}, format="json", HTTP_IF_MATCH="*")


def _preflight(origin: str, path: str = "/api/v1/clients") -> Any:
    asked = {"HTTP_ORIGIN": origin, "HTTP_ACCESS_CONTROL_REQUEST_METHOD": "GET"}
    return Browser().options(path, HTTP_ACCESS_CONTROL_REQUEST_HEADERS="authorization", **asked)


def test_without_a_list_no_page_may_read_anything(cast: Cast) -> None:
    assert _preflight(PAGE).status_code == 405
    answer = cast.api(cast.coach).get("/api/v1/me", HTTP_ORIGIN=PAGE)
    assert answer.status_code == 200
    assert not [name for name in answer.headers if name.startswith("Access-Control")]
    assert "Origin" in answer.headers["Vary"]


def test_a_listed_page_may_read_its_own_business_only(cast: Cast, neighbour: Cast) -> None:
    assert _list(cast, PAGE).status_code == 200
    assert _list(neighbour, OTHERS).status_code == 200
    for origin in (PAGE, OTHERS):
        allowed = _preflight(origin)
        assert (allowed.status_code, allowed.headers[ALLOW]) == (204, origin)
        assert "Authorization" in allowed.headers["Access-Control-Allow-Headers"]
        assert allowed.headers["Access-Control-Allow-Methods"] == "GET, POST"
    coach = cast.api(cast.coach)
    read = coach.get("/api/v1/me", HTTP_ORIGIN=PAGE)
    assert read.headers[ALLOW] == PAGE
    assert "RateLimit" in read.headers["Access-Control-Expose-Headers"]
    assert ALLOW not in coach.get("/api/v1/me", HTTP_ORIGIN=OTHERS).headers
    refused = coach.get("/api/v1/clients/nothing?x", HTTP_ORIGIN=PAGE)
    assert ALLOW not in refused.headers, "an unknown path is no operation"
    assert coach.get("/api/v1/clients?x=1", HTTP_ORIGIN=PAGE).headers[ALLOW] == PAGE


def test_a_listed_page_may_read_why_nobody_was_let_in(cast: Cast) -> None:
    _list(cast, PAGE)
    answer = Browser().get("/api/v1/me", HTTP_ORIGIN=PAGE)
    assert (answer.status_code, answer.headers[ALLOW]) == (401, PAGE)


@pytest.mark.parametrize(
    "origin", [PAGE, "null", "https://evil.example", PAGE + ".evil.example", PAGE.upper(), "*", ""]
)
def test_no_answer_ever_takes_credentials_along_or_opens_to_all(origin: str, cast: Cast) -> None:
    _list(cast, PAGE)
    for answer in (_preflight(origin), cast.api(cast.coach).get("/api/v1/me", HTTP_ORIGIN=origin)):
        assert "Access-Control-Allow-Credentials" not in answer.headers
        assert answer.headers.get(ALLOW) == (PAGE if origin == PAGE else None)


@pytest.mark.parametrize(
    "origin",
    ["*", "null", "http://app.example", "https://*.example", "https://app.example/", "https://app.example/path",
     "https://App.example", "https://app.example:443", "https://me@app.example", "https://", "https://-.example",
     "https://app..example", "https://app.example:0", "app.example"],
)  # fmt: skip
def test_only_exact_origins_of_https_can_be_listed(origin: str, cast: Cast) -> None:
    refused = _list(cast, origin)
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"].startswith("#/allowed_origins/0")


def test_at_most_twenty_are_listed_by_the_owner_and_written_down(cast: Cast) -> None:
    assert _list(cast, *(f"https://a{number}.example:8443" for number in range(21))).status_code == 400
    assert _list(cast, PAGE, "https://localhost:8443").json()["allowed_origins"] == [PAGE, "https://localhost:8443"]
    head = cast.api(cast.head)
    changed = head.patch("/api/v1/business", {"allowed_origins": []}, format="json", HTTP_IF_MATCH="*")
    assert changed.status_code == 403
    with business_scope(cast.business_id):
        assert AuditEntry.objects.get().values == {"allowed_origins": [PAGE, "https://localhost:8443"]}
