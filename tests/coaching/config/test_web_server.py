"""The real web server: bounded before Django reads anything, silent about itself, its lines without secrets."""

import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
from gunicorn.config import Config  # type: ignore[import-untyped]  # the library has no types
from gunicorn.http.parser import RequestParser  # type: ignore[import-untyped]

import coaching.config.gunicorn  # noqa: F401 -- it is what makes gunicorn patient
from coaching.config.slow_clients import PatientUnreader
from tests.processes import PATIENCE_S, ROOT, environment, free_port, kill
from tests.smtp_server import SmtpSink

SIGNED = "eyJwIjoiMDE5MCJ9:1tQx9a:Zk3_" + "a1B2" * 10
JSON = "application/json"
GUNICORN = ("-m", "gunicorn", "--config", "python:coaching.config.gunicorn", "coaching.config.wsgi:application")


@dataclass(frozen=True)
class Web:
    port: int
    output: Path

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"


@pytest.fixture(scope="module")
def web(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Web]:
    found = Web(free_port(), tmp_path_factory.mktemp("web") / "output")
    sink = SmtpSink().start()
    with found.output.open("wb") as output:
        process = subprocess.Popen(
            [sys.executable, *GUNICORN, "--bind", f"127.0.0.1:{found.port}", "--workers=1", "--no-control-socket"],
            cwd=ROOT, env=environment(sink), stdout=output, stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip
        try:
            until = time.monotonic() + PATIENCE_S
            while not _answers(found):
                assert process.poll() is None, found.output.read_text()
                assert time.monotonic() < until
            yield found
        finally:
            kill(process)
            sink.stop()


def _answers(web: Web) -> bool:
    try:
        return httpx.get(f"{web.url}/healthz").is_success
    except httpx.TransportError:
        return False


def _raw(web: Web, request: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", web.port), timeout=PATIENCE_S) as connection:
        connection.sendall(request)
        return connection.recv(200)


def test_it_names_neither_itself_nor_its_version(web: Web) -> None:
    answer = httpx.get(f"{web.url}/api/v1/me")
    assert answer.status_code == 401
    assert "server" not in answer.headers
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    ("request_line", "headers"),
    [
        (b"GET /healthz?" + b"x" * 5000 + b" HTTP/1.1", b""),
        (b"GET /healthz HTTP/1.1", b"X-Long: " + b"x" * 9000 + b"\r\n"),
        (b"GET /healthz HTTP/1.1", b"".join(b"X-%d: 1\r\n" % number for number in range(60))),
        (b"GET /healthz HTTP/1.1", b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n"),
        (b"GET /healthz HTTP/1.1", b"Content-Length: 5\r\nContent-Length: 6\r\n"),
    ],
    ids=["a long line", "a long header", "many headers", "two lengths", "two other lengths"],
)
def test_heads_that_are_too_large_or_read_two_ways_are_refused(web: Web, request_line: bytes, headers: bytes) -> None:
    answer = _raw(web, request_line + b"\r\nHost: 127.0.0.1\r\n" + headers + b"\r\n")
    assert answer.split(b" ")[1][:1] == b"4", answer


def test_a_body_without_a_length_is_refused_not_taken_for_an_empty_one(web: Web) -> None:
    answer = httpx.post(
        f"{web.url}/api/v1/sessions", content=iter([b'{"email":"a@b.example"}']), headers={"Content-Type": JSON}
    )
    assert answer.status_code == 400
    assert answer.json()["code"] == "length_required"
    assert "Content-Length" in answer.json()["detail"]


def test_gunicorn_reads_connections_with_our_patience() -> None:
    ours, theirs = socket.socketpair()
    with ours, theirs:
        assert type(RequestParser(Config(), ours, None).unreader) is PatientUnreader


def test_files_of_the_docs_are_for_this_site_alone(web: Web) -> None:
    answer = httpx.get(f"{web.url}/static/drf_spectacular_sidecar/swagger-ui-dist/swagger-ui.css")
    assert answer.status_code == 200
    assert "access-control-allow-origin" not in answer.headers


def test_its_lines_hold_paths_and_ids_without_secrets(web: Web) -> None:
    key = "cp_abcdefgh_" + "Zz9_" * 10 + "abc"
    httpx.get(f"{web.url}/account/password-resets/{SIGNED}", headers={"User-Agent": "spy@gym.example"})
    httpx.get(f"{web.url}/api/v1/clients?name=Anna", headers={"Authorization": f"Bearer {key}", "X-Request-Id": "r-1"})
    _raw(web, b"GET /nowhere%0d%0aforged HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
    until = time.monotonic() + PATIENCE_S
    while "forged" not in web.output.read_text():
        assert time.monotonic() < until
    written = web.output.read_text()
    assert "GET /account/password-resets/[...] " in written
    assert "GET /api/v1/clients 401" in written
    assert "request r-1" in written
    assert not [secret for secret in (SIGNED, SIGNED[-40:], key, "Anna", "spy@", "127.0.0.1 ") if secret in written]
    assert not [line for line in written.splitlines() if line.startswith("forged")]
