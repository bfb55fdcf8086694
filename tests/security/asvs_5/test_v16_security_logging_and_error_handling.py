"""V16 Security logging and error handling."""

import logging
import re

import pytest
from django.conf import settings

from coaching.log_lines import SECURITY_LOGGER, LogLine
from tests.processes import ROOT
from tests.scenario import Cast, signed_in


def test_each_line_says_when_how_grave_and_by_whom() -> None:
    """16.2.1, 16.2.2, 16.2.4 One form for all loggers: the time, the level, the logger, the words; the clock is UTC."""
    form = settings.LOGGING["formatters"]["line"]["format"]
    assert [part for part in ("{asctime}", "{levelname}", "{name}", "{message}") if part not in form] == []
    assert (settings.TIME_ZONE, settings.USE_TZ) == ("UTC", True)
    # Django sets the process's zone by TIME_ZONE.
    record = logging.LogRecord("x", logging.INFO, "x", 1, "told", None, None)
    assert re.match(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d,\d{3} INFO x told$", LogLine(form, style="{").format(record))


def test_logs_go_to_one_place() -> None:
    """16.2.3 To the process's error output, for the operator's collector; no handler opens a file or a socket."""
    assert set(settings.LOGGING["handlers"]) == {"stderr"}
    assert settings.LOGGING["root"]["handlers"] == ["stderr"]
    text = (ROOT / "coaching/config/settings.py").read_text()
    for handler in ("FileHandler", "SysLogHandler", "HTTPHandler", "SMTPHandler", "AdminEmailHandler", "SocketHandler"):
        assert handler not in text


def test_who_is_turned_away_is_told(cast: Cast, caplog: pytest.LogCaptureFixture) -> None:
    """16.3.2, 16.3.3 A refused operation and a bad credential each leave a line, by ids, with the request's own."""
    with caplog.at_level(logging.INFO, logger=SECURITY_LOGGER):
        refused = cast.api(cast.viewer).get("/api/v1/api-keys")
        unknown = signed_in("garbage").get("/api/v1/clients")
    lines = [record.getMessage() for record in caplog.records if record.name == SECURITY_LOGGER]
    assert any(refused.headers["X-Request-Id"] in line and "403" in line for line in lines), lines
    assert any(unknown.headers["X-Request-Id"] in line and "401" in line for line in lines), lines
    assert not [line for line in lines if "@" in line or "garbage" in line]
