"""An owner asks for all that the business holds; the worker at it is killed, and another one makes the file."""

import csv
import io
import json
import time
import zipfile
from collections.abc import Callable
from typing import Any

import httpx
import psycopg
import time_machine
from django.db import connection

from coaching.config.celery import app
from coaching.models import Operation, SessionToken
from coaching.tenancy.scope import business_scope
from tests.architecture.world import AFTER, build_world
from tests.processes import PATIENCE_S, free_port, kill, running, url_of, web, worker
from tests.scenario import Cast, build_business
from tests.smtp_server import SmtpSink

LISTED = {
    "/api/v1/clients": "coaching_client",
    "/api/v1/set-logs": "logs_setlog",
    "/api/v1/session-logs": "logs_sessionlog",
    "/api/v1/check-ins": "logs_checkin",
    "/api/v1/planned-sessions": "programs_plannedsession",
    "/api/v1/flags": "logs_flag",
}


def _until(holds: Callable[[], Any]) -> Any:
    until = time.monotonic() + PATIENCE_S
    while not (found := holds()):
        assert time.monotonic() < until
        time.sleep(0.02)
    return found


def _answers(api: httpx.Client) -> bool:
    try:
        return api.get("/healthz").is_success
    except httpx.TransportError:
        return False


def _signed_in(cast: Cast, port: int) -> httpx.Client:
    _row, token = SessionToken.objects.create(
        user=cast.owner.person, business_id=cast.business_id, membership_id=cast.owner.id
    )
    return httpx.Client(
        base_url=f"http://127.0.0.1:{port}", headers={"Authorization": f"Bearer {token}"}, timeout=PATIENCE_S
    )


def _operation(cast: Cast) -> Operation:
    with business_scope(cast.business_id):
        return Operation.objects.order_by("-created_at").get(kind="business_export")


def _let_its_lease_run_out(cast: Cast) -> None:
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute("UPDATE coaching_operation SET lease_until = clock_timestamp() WHERE state = 'running'")


def _listed(api: httpx.Client, path: str) -> set[str]:
    answer = api.get(path, params={"limit": 200})
    assert answer.status_code == 200, answer.text
    return {item["id"] for item in answer.json()["items"]}


def test_a_file_whose_worker_is_killed_is_made_by_another_and_holds_what_the_lists_show(
    committed: None, smtp: SmtpSink
) -> None:
    cast, port = build_business("Northern Iron"), free_port()
    with time_machine.travel(AFTER, tick=False):
        build_world(cast)
    with running(smtp, *web(port)), running(smtp, *worker()) as first, _signed_in(cast, port) as api:
        _until(lambda: _answers(api))
        asked = api.post("/api/v1/exports", json={"business": True})
        assert asked.status_code == 202, asked.text
        # The worker comes as far as the check-ins, which somebody else is at.
        with psycopg.connect(url_of("owner")) as other:
            other.execute("LOCK TABLE logs_checkin IN ACCESS EXCLUSIVE MODE")
            app.send_task("coaching.export")
            _until(lambda: _operation(cast).progress > 0)
            kill(first)
        assert api.get(asked.headers["Location"]).json()["state"] == "running"
        _let_its_lease_run_out(cast)
        with running(smtp, *worker()):
            app.send_task("coaching.export")
            _until(lambda: api.get(asked.headers["Location"]).json()["state"] == "succeeded")
        assert _operation(cast).attempts == 2
        taken = api.get(f"{asked.headers['Location']}/result", headers={"Accept": "application/zip"})
        assert taken.status_code == 200, taken.text
        with zipfile.ZipFile(io.BytesIO(taken.content)) as archive:
            assert archive.testzip() is None
            document = json.loads(archive.read("record.json"))["tables"]
            sheets = {
                name: list(csv.DictReader(io.StringIO(archive.read(f"{name}.csv").decode("utf-8-sig"), newline="")))
                for name in document
            }
        for name, rows in document.items():
            assert [row["id"] for row in sheets[name]] == [row["id"] for row in rows], name
        for path, name in LISTED.items():
            assert _listed(api, path) == {row["id"] for row in document[name] if not row.get("deleted_at")} != set()
