"""A witness of the whole run: notes every secret that comes or goes, and looks for each in all that was logged.

A secret in a line of the log fails the run, whichever test it came from.
"""

import logging
import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Any, Final

import orjson
import pytest

SHORTEST: Final = 10
"""Shorter ones (codes of six digits) stand in logs by chance."""

_NAMES: Final = re.compile(r"password|passwd|token|secret|recovery|otpauth|^(new|current|old|key|link|challenge)$")
_PLAIN: Final = re.compile(r"[a-z_-]+|[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_RUNS: Final = re.compile(rf"[A-Za-z0-9_:=.-]{{{SHORTEST},}}")
_ADDRESS: Final = re.compile(r"[\w.+-]+@[\w-]+\.example\b")
_OURS: Final = ("coaching", "programs", "logs")

issued: set[str] = set()
"""Secrets that were issued, sent or set in this process."""

lines: list[str] = []
"""All that was logged, as it is written; of our own code also as it was said."""

_findings: list[str] = []


class PasswordWitness:
    """Notes each password that is set: Django tells its validators."""

    def validate(self, _password: str, user: Any = None) -> None:
        """Object to none."""

    def password_changed(self, password: str, user: Any = None) -> None:
        _note(password)

    def get_help_text(self) -> str:
        return ""


class TrafficWitness:
    """Notes what a request and its answer hold of secrets."""

    def __init__(self, get_response: Callable[[Any], Any]) -> None:
        self.get_response = get_response

    def __call__(self, request: Any) -> Any:
        response = self.get_response(request)
        _note(request.headers.get("Authorization", "").rpartition(" ")[2])
        for body in (getattr(request, "_body", b""), getattr(response, "content", b"")):
            if body[:1] == b"{" and len(body) < 100_000:
                with suppress(orjson.JSONDecodeError):
                    for secret in _secrets_of(orjson.loads(body)):
                        _note(secret)
        return response


def _secrets_of(value: Any, name: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for inner_name, inner in value.items():
            yield from _secrets_of(inner, inner_name)
    elif isinstance(value, list):
        for inner in value:
            yield from _secrets_of(inner, name)
    elif isinstance(value, str) and _NAMES.search(name):
        yield value


def _note(secret: Any) -> None:
    # What is plain words (a name of a field, an exercise) is no secret, and an id (of an exercise as its key) is none.
    if isinstance(secret, str) and len(secret) >= SHORTEST and not _PLAIN.fullmatch(secret):
        issued.add(secret)


class _Listener(logging.Handler):
    def emit(self, record: logging.LogRecord) -> None:
        lines.append(self.format(record))
        if record.name.partition(".")[0] in _OURS and record.exc_info is None:
            lines.append(record.getMessage())


_listener = _Listener()


def secrets_in(text: str, secrets: set[str]) -> list[str]:
    """Return the secrets that stand in a text."""
    runs = set(_RUNS.findall(text))
    parts = {part for run in runs for part in (run, *run.split(":"), *run.split("=", 1), run.strip(".:=-"))}
    plain = {secret for secret in secrets if _RUNS.fullmatch(secret)}
    return sorted((plain & parts) | {secret for secret in secrets - plain if secret in text})


def pytest_sessionstart() -> None:
    from django.conf import settings
    from django.contrib.auth.password_validation import get_default_password_validators

    from coaching.log_lines import LogLine

    settings.MIDDLEWARE = ["tests.run_log.TrafficWitness", *settings.MIDDLEWARE]
    settings.AUTH_PASSWORD_VALIDATORS = [
        *settings.AUTH_PASSWORD_VALIDATORS,
        {"NAME": "tests.run_log.PasswordWitness"},
    ]
    cache: Any = get_default_password_validators
    cache.cache_clear()
    _listener.setFormatter(LogLine("{asctime} {levelname} {name} {message}", style="{"))


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup() -> None:
    # Before each test: whatever sets Django up once more (its WSGI application does) empties the root's handlers.
    if _listener not in logging.getLogger().handlers:
        logging.getLogger().addHandler(_listener)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    text = "\n".join(lines)
    found = [f"a secret of {len(secret)} characters: {secret[:4]}…" for secret in secrets_in(text, issued)]
    found += [f"an address: {address}" for address in sorted(set(_ADDRESS.findall(text)))]
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        # A process of several; the first one reports.
        output["run_log"] = found
        return
    _findings.extend(found)
    if _findings:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    _findings.extend(getattr(node, "workeroutput", {}).get("run_log", []))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    if _findings:
        terminalreporter.section("the log of this run holds what no log may hold", red=True)
        for finding in _findings:
            terminalreporter.line(finding)
