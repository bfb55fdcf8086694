"""Redis frozen, killed or full: requests go on, within 150 ms, and limits count again once it is back."""

import logging
import time
from collections.abc import Iterator
from typing import Any

import pytest

from coaching.http import rate_limits
from tests.scenario import Cast
from tests.valkey_server import OwnValkey

EXTRA_S = 0.15


@pytest.fixture
def valkey(settings: Any) -> Iterator[OwnValkey]:
    with OwnValkey() as own:
        settings.REDIS_URL = own.url
        yield own


def _freeze(valkey: OwnValkey) -> None:
    valkey.freeze()


def _kill(valkey: OwnValkey) -> None:
    valkey.kill()


def _fill(valkey: OwnValkey) -> None:
    valkey.ask("CONFIG", "SET", "maxmemory-policy", "noeviction")
    valkey.ask("CONFIG", "SET", "maxmemory", "1")


@pytest.mark.parametrize("break_it", [_freeze, _kill, _fill], ids=["frozen", "killed", "full"])
def test_without_redis_requests_are_served_at_once_and_uncounted(
    cast: Cast, valkey: OwnValkey, break_it: Any, settings: Any, caplog: pytest.LogCaptureFixture
) -> None:
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "reading": 3}
    coach = cast.api(cast.coach)
    assert coach.get("/api/v1/me").headers["RateLimit"].startswith('"reading";r=2;')
    began = time.monotonic()
    coach.get("/api/v1/me")
    usual_s = time.monotonic() - began
    break_it(valkey)
    with caplog.at_level(logging.WARNING, logger=rate_limits.__name__):
        began = time.monotonic()
        answers = [coach.get("/api/v1/me") for _ in range(5)]
        took_s = time.monotonic() - began
    assert [answer.status_code for answer in answers] == [200] * 5
    # All five together wait once, for the circuit is open after the first.
    assert took_s <= 5 * max(usual_s, 0.05) * 2 + EXTRA_S
    assert "RateLimit" not in answers[-1].headers
    assert answers[-1].headers["RateLimit-Policy"] == '"reading";q=3;w=60'
    assert [record.getMessage().partition(":")[0] for record in caplog.records] == [
        "rate limits are off until Redis answers again"
    ]
    valkey.thaw() if break_it is _freeze else None


def test_limits_count_again_once_redis_is_back(
    cast: Cast, valkey: OwnValkey, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rate_limits, "OPEN_S", 0.01)
    settings.RATE_LIMITS = {**settings.RATE_LIMITS, "reading": 3}
    coach = cast.api(cast.coach)
    valkey.freeze()
    assert "RateLimit" not in coach.get("/api/v1/me").headers
    valkey.thaw()
    valkey.ask("PING")
    until = time.monotonic() + 10
    while "RateLimit" not in coach.get("/api/v1/me").headers:
        assert time.monotonic() < until
    statuses = {coach.get("/api/v1/me").status_code for _ in range(4)}
    assert statuses == {200, 429}


def test_sign_in_stays_limited_while_redis_is_frozen(cast: Cast, valkey: OwnValkey, client: Any) -> None:
    valkey.freeze()
    body = {"email": "nobody@nowhere.example", "password": "not the password"}
    asked = [client.post("/api/v1/sessions", body, content_type="application/json").status_code for _ in range(6)]
    valkey.thaw()
    assert asked == [401] * 5 + [429]
