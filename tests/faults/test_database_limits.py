"""The database cuts off what takes too long: a held row stops only those who want it, and nobody waits for ever."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
import pytest
from django.db import InternalError, OperationalError, connection, transaction

from coaching.http.problem_documents import problem_of
from coaching.tenancy.service_role import role_fault
from tests.logs.logging import check_in
from tests.processes import url_of
from tests.scenario import Cast, build_business

EXPECTED = {"statement_timeout": "15s", "lock_timeout": "3s", "idle_in_transaction_session_timeout": "30s"}


@contextmanager
def _limits(**limits: str) -> Iterator[None]:
    """Set this connection's limits for a while; the role's own come back with a new connection."""
    with connection.cursor() as cursor:
        for name, limit in limits.items():
            cursor.execute("SELECT set_config(%s, %s, false)", [name, limit])
    try:
        yield
    finally:
        connection.close()


@contextmanager
def _held(cast: Cast) -> Iterator[None]:
    """Hold Anna's row, as a long transaction of another process would."""
    with psycopg.connect(url_of("default")) as other:
        other.execute("SELECT set_config('app.business_id', %s, true)", [str(cast.business_id)])
        other.execute("SELECT 1 FROM coaching_client WHERE id = %s FOR UPDATE", [cast.anna.id])
        yield
        other.rollback()


def _version() -> int:
    connection.ensure_connection()
    found: Any = connection.connection
    return int(found.info.server_version)


def _rename(cast: Cast, client: Any) -> Any:
    path = f"/api/v1/clients/{client.id}"
    owner = cast.api(cast.owner)
    owner.raise_request_exception = False
    return owner.patch(path, {"name": "Renamed"}, format="json", HTTP_IF_MATCH="*")


@pytest.mark.parametrize(
    ("limits", "told"),
    [
        ({"lock_timeout": "200ms"}, "changing the same thing"),
        ({"lock_timeout": "0", "statement_timeout": "300ms"}, "longer than the database lets"),
    ],
    ids=["a held lock", "a slow statement"],
)
def test_a_row_that_is_held_stops_only_those_who_want_it(committed: None, limits: dict[str, str], told: str) -> None:
    cast = build_business("Northern Iron")
    with _limits(**limits), _held(cast):
        refused = _rename(cast, cast.anna)
        assert refused.status_code == 503
        assert int(refused.headers["Retry-After"]) >= 1
        assert told in refused.json()["detail"]
        assert _rename(cast, cast.ben).status_code == 200
        assert cast.api(cast.owner).get(f"/api/v1/clients/{cast.anna.id}").json()["name"] == "Anna"
    assert _rename(cast, cast.anna).status_code == 200


@pytest.mark.parametrize("limit", ["idle_in_transaction_session_timeout", "transaction_timeout"])
def test_a_transaction_that_stands_still_is_ended_and_answered_as_away(committed: None, limit: str) -> None:
    if limit == "transaction_timeout" and _version() < 170000:
        limit = "idle_in_transaction_session_timeout"
    with psycopg.connect(url_of("default"), autocommit=True) as watch, _limits(**{limit: "50ms"}):
        with pytest.raises((InternalError, OperationalError)) as ended, transaction.atomic():  # noqa: PT012
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_backend_pid()")
                (process,) = cursor.fetchone()
            while watch.execute("SELECT 1 FROM pg_stat_activity WHERE pid = %s", [process]).fetchone():
                watch.execute("SELECT pg_sleep(0.02)")
            with connection.cursor() as cursor:
                cursor.execute("SELECT 1")
        problem = problem_of(ended.value)
    assert problem.status_code == 503
    assert "Retry-After" in problem.headers


def test_the_services_role_has_its_limits_and_is_refused_without(committed: None) -> None:
    with connection.cursor() as cursor:
        for name, limit in EXPECTED.items():
            cursor.execute("SELECT current_setting(%s)", [name])
            assert cursor.fetchone()[0] == limit
        if _version() >= 170000:
            cursor.execute("SHOW transaction_timeout")
            assert cursor.fetchone()[0] == "1min"
    assert role_fault(connection) is None
    with _limits(lock_timeout="0"):
        fault = role_fault(connection)
    assert fault
    assert "lock_timeout" in fault
    assert "statement_timeout" not in fault


def test_a_session_cut_in_the_middle_of_a_copy_is_answered_as_away(committed: None) -> None:
    cast = build_business("Northern Iron")
    app = cast.key("logs:write")
    app.raise_request_exception = False

    def cut(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        result = execute(sql, params, many, context)
        if "CREATE TEMPORARY TABLE" in sql:
            with psycopg.connect(url_of("default"), autocommit=True) as other:
                process = context["connection"].connection.info.backend_pid
                other.execute("SELECT pg_terminate_backend(%s, 20000)", [process])
        return result

    with connection.execute_wrapper(cut):
        refused = app.post("/api/v1/log-batches", {"check_ins": [check_in(cast.anna)]}, format="json")
    connection.close()
    assert refused.status_code == 503, refused.content
    assert "Retry-After" in refused.headers
