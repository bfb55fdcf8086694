"""Database or queue gone while logs come in: told at once, nothing acknowledged is lost, and back by itself."""

import time
from collections.abc import Iterator, Sized
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event
from typing import Any

import httpx
import psycopg
import pytest
from django.db import connections
from psycopg.conninfo import make_conninfo

from coaching.tenancy.scope import business_scope
from logs.models import CheckIn
from tests.logs.logging import check_in
from tests.processes import PATIENCE_S, free_port, running, url_of, web
from tests.scenario import Cast, build_business
from tests.smtp_server import SmtpSink
from tests.valkey_server import OwnValkey

APPS = 4
TOLD_WITHIN_S = 10
"""A loaded machine's three seconds."""


@dataclass
class Load:
    """Apps that post check-ins as fast as they can, and send again what was not acknowledged."""

    cast: Cast
    url: str
    key: str
    statuses: set[int] = field(default_factory=set)
    refusals: list[httpx.Response] = field(default_factory=list)
    acknowledged: set[str] = field(default_factory=set)
    slowest_s: float = 0.0
    ended: Event = field(default_factory=Event)

    def run(self, app: int) -> None:
        number = 0
        with httpx.Client(base_url=self.url, headers={"Authorization": self.key}, timeout=PATIENCE_S) as http:
            while not self.ended.is_set():
                name = f"app-{app}-{number}"
                if self._post(http, name):
                    self.acknowledged.add(name)
                    number += 1

    def _post(self, http: httpx.Client, name: str) -> bool:
        began = time.monotonic()
        answer = http.post("/api/v1/log-batches", json={"check_ins": [check_in(self.cast.anna, name)]})
        self.slowest_s = max(self.slowest_s, time.monotonic() - began)
        self.statuses.add(answer.status_code)
        if not answer.is_success:
            self.refusals.append(answer)
            return False
        # A retry of what was stored unheard is told so.
        return answer.json()["items"][0]["outcome"] in {"created", "unchanged"}

    def wait_for(self, more: int) -> None:
        """Wait until so many more are acknowledged than now."""
        self._wait(self.acknowledged, more)

    def wait_for_refusals(self, more: int) -> None:
        """Wait until so many more are refused than now."""
        self._wait(self.refusals, more)

    def _wait(self, counted: Sized, more: int) -> None:
        target, until = len(counted) + more, time.monotonic() + PATIENCE_S
        while len(counted) < target:
            assert time.monotonic() < until, self.statuses
            time.sleep(0.01)


@pytest.fixture
def valkey(settings: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[OwnValkey]:
    with OwnValkey() as own:
        monkeypatch.setenv("REDIS_URL", own.url)
        yield own


@contextmanager
def _under_load(smtp: SmtpSink) -> Iterator[Load]:
    """Run the real web server and the apps; at the end, what was acknowledged is stored, once."""
    cast, port = build_business("Northern Iron"), free_port()
    key = cast.key("logs:write")._credentials["HTTP_AUTHORIZATION"]  # type: ignore[attr-defined]  # as DRF keeps it
    load = Load(cast, f"http://127.0.0.1:{port}", key)
    with running(smtp, *web(port)), ThreadPoolExecutor(APPS) as pool:
        _wait_until_it_answers(load.url)
        runs = [pool.submit(load.run, app) for app in range(APPS)]
        try:
            load.wait_for(APPS)
            yield load
            load.wait_for(APPS)
        finally:
            load.ended.set()
        for run in runs:
            run.result()
    connections["default"].close()
    with business_scope(cast.business_id):
        stored = list(CheckIn.objects.values_list("external_id", flat=True))
    assert len(stored) == len(set(stored))
    assert load.acknowledged <= set(stored)
    assert load.slowest_s < TOLD_WITHIN_S


def _wait_until_it_answers(url: str) -> None:
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            if httpx.get(f"{url}/readyz").is_success:
                return
        except httpx.TransportError:
            assert time.monotonic() < until


@contextmanager
def _beside(alias: str) -> Iterator[psycopg.Connection[Any]]:
    """A session of a role in another database, so that this run's own may be closed to it."""
    with psycopg.connect(make_conninfo(url_of(alias), dbname="postgres"), autocommit=True) as session:
        yield session


def _cut(session: psycopg.Connection[Any], database: str) -> int:
    ended = session.execute(
        "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity "
        "WHERE datname = %s AND usename = current_user AND pid <> pg_backend_pid()",
        [database],
    ).fetchone()
    return int(ended[0]) if ended else 0


def _alter(limit: str) -> None:
    with _beside("owner") as owner:
        owner.execute(f'ALTER DATABASE "{connections["default"].settings_dict["NAME"]}" WITH {limit}')


def test_a_database_whose_sessions_are_cut_or_refused_loses_nothing_and_is_used_again(
    committed: None, smtp: SmtpSink
) -> None:
    database = connections["default"].settings_dict["NAME"]
    with _under_load(smtp) as load, _beside("default") as session:
        for _ in range(6):
            assert _cut(session, database)
            load.wait_for(4)
        for limit in ("ALLOW_CONNECTIONS false", "CONNECTION LIMIT 0"):
            try:
                _alter(limit)
                _cut(session, database)
                load.wait_for_refusals(12)
                assert httpx.get(f"{load.url}/readyz").status_code == 503
                assert httpx.get(f"{load.url}/healthz").status_code == 200
            finally:
                _alter("ALLOW_CONNECTIONS true CONNECTION LIMIT -1")
            load.wait_for(2 * APPS)
            seen = len(load.refusals)
            load.wait_for(4 * APPS)
            assert len(load.refusals) == seen, "no refusal once it is back"
    assert load.statuses == {200, 503}
    for answer in load.refusals:
        assert answer.headers["Content-Type"] == "application/problem+json"
        assert int(answer.headers["Retry-After"]) >= 1
        assert answer.json()["code"] == "unavailable"


def test_a_queue_that_is_emptied_killed_and_started_again_refuses_no_log(
    committed: None, smtp: SmtpSink, valkey: OwnValkey
) -> None:
    with _under_load(smtp) as load:
        for _ in range(5):
            valkey.ask("FLUSHALL")
            load.wait_for(4)
        valkey.kill()
        load.wait_for(12)
        valkey.start()
        load.wait_for(12)
    assert load.statuses == {200}
