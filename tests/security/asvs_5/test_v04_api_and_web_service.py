"""V4 API and web service."""

from django.test import Client as Browser
from django.test import override_settings

from tests.scenario import Cast
from tests.security.operations import CALLED, attack

ARCHIVES = frozenset({"operations.result"})
"""Operations that answer with a file."""


def test_every_body_says_what_it_is(cast: Cast, world: dict[str, str]) -> None:
    """4.1.1 Content-Type is that of the body, with its charset where it is text."""
    api = cast.api(cast.owner)
    for operation, call in CALLED.items():
        answer = attack(api, call, world)
        if not answer.content:
            continue
        kind = answer.headers["Content-Type"]
        if operation in ARCHIVES:
            assert (kind, answer.content[:2]) == ("application/zip", b"PK")
            continue
        assert kind.partition(";")[0] in {"application/json", "application/problem+json"}, (operation, kind)
        assert answer.json() is not None
    page = attack(api, CALLED["planned_sessions.card"], world, headers={"Accept": "text/html"})
    assert page.headers["Content-Type"] == "text/html; charset=utf-8"
    paper = attack(api, CALLED["planned_sessions.card"], world, headers={"Accept": "application/pdf"})
    assert (paper.headers["Content-Type"], paper.content[:5]) == ("application/pdf", b"%PDF-")


def test_who_is_behind_a_proxy_is_not_for_the_caller_to_say(db: None) -> None:
    """4.1.3 Forwarded headers are read only where a proxy is declared, and never make a host ours."""
    with override_settings(BEHIND_PROXY=False, USE_X_FORWARDED_HOST=False):
        answer = Browser().get("/api/v1/me", headers={"x-forwarded-host": "evil.example", "x-forwarded-proto": "https"})
    assert "evil.example" not in answer.content.decode() + str(answer.headers)
    assert "Strict-Transport-Security" not in answer.headers


def test_a_program_that_forgot_tls_is_told_and_not_redirected(db: None) -> None:
    """4.1.2 Pages redirect to https; the API answers with a refusal, so that the mistake is found."""
    with override_settings(SECURE_SSL_REDIRECT=True):
        browser = Browser()
        assert browser.get("/docs").status_code == 301
        for answer in (
            browser.get("/api/v1/me"),
            browser.post("/api/v1/sessions", {}, content_type="application/json"),
        ):
            assert (answer.status_code, answer.json()["code"]) == (403, "tls_required")
        assert browser.get("/api/v1/me", secure=True).status_code == 401
