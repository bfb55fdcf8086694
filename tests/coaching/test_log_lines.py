"""What is logged is one line to a record, without secrets or people's addresses."""

import io
import logging
from typing import Any

import psycopg
import pytest

from coaching.log_lines import SECURITY_LOGGER, LogLine, redacted
from tests.processes import url_of
from tests.scenario import Cast, signed_in

# Written out, not made: tests that run side by side must be named alike in every process.
TOKEN = "6635a721e3ce0b604ffc558e4d500dcc9708e6d49ccce560d0325947d3901fde"
SIGNED = "eyJwZXJzb24iOiIwMTkwIn0:1xWFrp:Jh3gkt3X2c3H2X0P_I3hCCsz2j7tSbwrSvk8nNp9BZ0"
KEY = "cp_abcdefgh_" + "Ab1-_" * 8 + "xyz"


@pytest.mark.parametrize(
    ("text", "secret"),
    [
        (f"Authorization: Bearer {TOKEN}", TOKEN),
        (f"{{'HTTP_AUTHORIZATION': 'Bearer {KEY}'}}", KEY),
        (f"authorization=Token {TOKEN}", TOKEN),
        ("Authorization: Basic b2xnYTpzZWNyZXQ=", "b2xnYTpzZWNyZXQ="),
        (f"the key {KEY} was refused", KEY),
        ("the key cp_abcdefgh_short", "short"),
        (f"token {TOKEN} expired", TOKEN),
        (f"GET /account/password-resets/{SIGNED} 200", SIGNED),
        (f"GET /account/invitations/{SIGNED}/ 200", SIGNED.split(":", maxsplit=1)[0]),
        ("GET /calendar/k3yk3yk3yk3yk3y.ics", "k3yk3yk3yk3yk3y"),
        ("GET /api/v1/clients?name=Anna", "Anna"),
        (f"https://api.example/x?token={SIGNED}", SIGNED),
        ('{"password": "correct horse battery"}', "correct horse battery"),
        ("password='hunter2hunter2'", "hunter2hunter2"),
        ("new_password=hunter2hunter2&x=1", "hunter2hunter2"),
        ("postgresql://service:s3cr3t@db:5432/x", "s3cr3t"),
        ("redis://:s3cr3t@queue:6379", "s3cr3t"),
        ("sent to anna@gym.example", "anna@gym.example"),
        ("sent to Anna <anna.b+x@mail.gym.example>", "anna.b+x"),
        ("duplicate key\nDETAIL:  Key (email)=(Anna Berg) already exists.", "Anna Berg"),
        ("invalid input\nCONTEXT:  unnamed portal parameter $2 = 'knee pain'", "knee pain"),
    ],
)
def test_secrets_and_addresses_are_blanked(text: str, secret: str) -> None:
    assert secret in text
    assert secret not in redacted(text)


@pytest.mark.parametrize(
    "text",
    [
        "Not Found: /api/v1/clients/01a21368-4f52-7721-9bac-b966a1d3688d",
        "request 401b4c438cea4fdb93350c85ba5d6927: unavailable",
        'File "coaching/http/views.py", line 80, in test_a_very_long_name_of_a_function_that_says_what_it_does',
        "done: sessions.create 201 for nobody known",
        "2031-03-05 12:00:00,123 INFO coaching took 12:30",
    ],
)
def test_what_an_operator_looks_for_stays(text: str) -> None:
    assert redacted(text) == text


def _written(message: str, *arguments: Any, error: BaseException | None = None) -> str:
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(LogLine("{levelname} {message}", style="{"))
    record = logging.LogRecord("x", logging.ERROR, __file__, 1, message, arguments, None)
    if error is not None:
        record.exc_info = (type(error), error, error.__traceback__)
    handler.handle(record)
    return stream.getvalue()


@pytest.mark.parametrize(
    "forged", ["a\nERROR forged", "a\r\nERROR forged", "a\u2028b", "a\x1b[2Jb", "a\x85b", "a\x00b"]
)
def test_nobody_writes_a_line_of_their_own(forged: str) -> None:
    written = _written("said %s", forged)
    assert written.splitlines() == [written.rstrip("\n")]
    assert not any(ord(character) < 32 for character in written.rstrip("\n"))


def test_a_stack_stands_in_its_records_line_without_what_the_database_quotes(cast: Cast) -> None:
    with psycopg.connect(url_of("default")) as other:
        other.execute("SELECT set_config('app.business_id', %s, true)", [str(cast.business_id)])
        with pytest.raises(psycopg.Error) as refused:
            other.execute("INSERT INTO coaching_person (id, email) VALUES (gen_random_uuid(), 'zoe.q@gym.example')")
    written = _written("broken", error=refused.value)
    assert "Failing row contains" in str(refused.value)
    assert "Failing row contains" not in written
    assert "zoe.q" not in written
    assert "Traceback" in written
    assert written.count("\n") == 1


def test_who_was_let_in_and_who_was_not_is_written_down_by_ids(cast: Cast, caplog: pytest.LogCaptureFixture) -> None:
    viewer = cast.api(cast.viewer)
    with caplog.at_level(logging.INFO, logger=SECURITY_LOGGER):
        signed_in("cp_abcdefgh_" + "x" * 43).get("/api/v1/me", HTTP_X_REQUEST_ID="guess")
        viewer.get("/api/v1/api-keys", HTTP_X_REQUEST_ID="denied")
        viewer.get("/api/v1/me", HTTP_X_REQUEST_ID="usual")
        cast.api(cast.owner).post("/api/v1/api-keys", {"name": "New", "scopes": ["logs:read"]}, format="json")
    lines = [record.getMessage() for record in caplog.records if record.name == SECURITY_LOGGER]
    assert lines[0] == "turned away: me.read 401 for nobody known, request guess"
    assert lines[1].startswith("turned away: api_keys.list 403 for person ")
    assert lines[1].endswith(f" of {cast.business_id}, request denied")
    assert lines[2].startswith("done: api_keys.create 201 for person ")
    assert len(lines) == 3
