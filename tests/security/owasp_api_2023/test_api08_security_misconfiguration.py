"""API8:2023. Nothing of development is on, every answer carries the headers, and no answer tells what runs here."""

import os
import re
import subprocess
import sys
from typing import Any, Final

import pytest
from django.conf import settings
from django.test import Client as Browser

from tests.processes import ROOT
from tests.scenario import Cast
from tests.security.operations import CALLED, attack

ALWAYS: Final = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
}
TELLING: Final = ("Server", "X-Powered-By", "X-AspNet-Version", "Via", "X-Runtime", "X-Django-Version")
PRODUCTION: Final = {
    "ENVIRONMENT": "production",
    "SECRET_KEY": "x9K2-" * 12,
    "PUBLIC_URL": "https://coaching.example",
    "DATABASE_URL": "postgresql://service@/counterpoise",
    "DATABASE_OWNER_URL": "postgresql://owner@/counterpoise",
    "REDIS_URL": "redis://127.0.0.1:6379/0",
    "EMAIL_URL": "submission://mail.example:587",
    "BEHIND_PROXY": "true",
}


def _assert_headers(answer: Any, what: str) -> None:
    for name, value in ALWAYS.items():
        assert answer.headers.get(name) == value, (what, name, answer.headers.get(name))
    policy = answer.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'"), (what, policy)
    assert "frame-ancestors 'none'" in policy, (what, policy)
    assert "unsafe-eval" not in policy, what
    assert re.fullmatch(r"[A-Za-z0-9._-]{1,64}", answer.headers["X-Request-Id"]), what
    assert not [name for name in TELLING if name in answer.headers], what
    assert "Access-Control-Allow-Origin" not in answer.headers, what
    assert not answer.cookies, what


def test_every_operation_answers_with_the_headers_and_is_never_cached(cast: Cast, world: dict[str, str]) -> None:
    api = cast.api(cast.owner)
    for operation, call in CALLED.items():
        for answer in (attack(api, call, world), attack(api, call, world, headers={"Origin": "https://evil.example"})):
            _assert_headers(answer, operation)
            assert answer.headers["Cache-Control"] == "no-store" or "private" in answer.headers["Cache-Control"], (
                operation
            )


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/nowhere",
        "/api/v1/nowhere",
        "/api/v1/me",
        "/healthz",
        "/docs",
        "/docs/problems",
        "/api/v1/schema",
        "/static/nowhere.js",
        "/api/v1/clients?token=x",
    ],
)
def test_every_page_and_every_refusal_carries_the_headers(path: str, db: None) -> None:
    _assert_headers(Browser().get(path), path)


def test_a_forged_host_is_refused_with_the_headers(db: None) -> None:
    answer = Browser().get("/healthz", headers={"host": "evil.example"})
    assert answer.status_code == 400
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "evil.example" not in answer.content.decode()


def test_debugging_is_off_and_no_setting_turns_it_on() -> None:
    """pytest-django turns DEBUG off by itself, so the source is read."""
    assert settings.DEBUG is False
    assert re.search(r"^DEBUG = False$", (ROOT / "coaching/config/settings.py").read_text(), re.MULTILINE)
    assert "DEBUG" not in (ROOT / "coaching/config/environment.py").read_text().replace('"DEBUG"', "", 1)


def test_the_deployment_check_of_django_finds_nothing_in_production() -> None:
    done = subprocess.run(
        check=False,
        args=[sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT,
        env={name: value for name, value in os.environ.items() if name != "PYTHONWARNINGS"} | PRODUCTION,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr[-2000:]


def test_production_refuses_to_start_insecure() -> None:
    for name, value, told in (
        ("SECRET_KEY", "short", "SECRET_KEY"),
        ("PUBLIC_URL", "http://coaching.example", "PUBLIC_URL"),
        ("ALLOWED_HOSTS", "*", "ALLOWED_HOSTS"),
    ):
        done = subprocess.run(
            check=False,
            args=[sys.executable, "-c", "import coaching.config.settings"],
            cwd=ROOT,
            env={**os.environ, **PRODUCTION, name: value},
            capture_output=True,
            text=True,
        )
        assert done.returncode != 0, name
        assert told in done.stderr, done.stderr


@pytest.mark.parametrize(
    "path",
    [
        "/.git/config",
        "/.env",
        "/manage.py",
        "/static/",
        "/static/../manage.py",
        "/static/..%2fmanage.py",
        "/coaching/config/settings.py",
        "/uv.lock",
        "/admin/",
        "/__debug__/",
        "/metrics/../.env",
        "/server-status",
        "/phpinfo.php",
        "/static/%2e%2e/%2e%2e/etc/passwd",
        "/debug/pprof/",
        "/actuator/env",
        "/.well-known/../.env",
    ],
)
def test_no_file_of_the_project_is_served(path: str, db: None) -> None:
    assert Browser().get(path).status_code in {400, 404}


@pytest.mark.parametrize("method", ["TRACE", "TRACK", "CONNECT", "PROPFIND", "OPTIONS", "PUT", "FOO"])
def test_methods_of_no_operation_are_refused(method: str, cast: Cast) -> None:
    answer = cast.api(cast.owner).generic(method, "/api/v1/clients")
    assert answer.status_code == 405
    assert answer.headers["Allow"] == "GET, POST"
