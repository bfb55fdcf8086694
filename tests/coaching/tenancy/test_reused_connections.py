"""A business's scope ends with its transaction, however that ends, and whatever uses the connection next."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from threading import Barrier, Thread
from typing import Any
from uuid import UUID, uuid4

import psycopg
import pytest
from asgiref.sync import sync_to_async
from django.conf import settings
from django.db import (
    DataError,
    InterfaceError,
    OperationalError,
    ProgrammingError,
    close_old_connections,
    connection,
    transaction,
)
from django.test import Client as Browser

from coaching.models import Client, Membership
from coaching.tenancy.scope import (
    NestedBusinessScopeError,
    NoBusinessSetError,
    business_scope,
    current_business_id,
)
from tests.scenario import Cast, build_business


def _sql(statement: str, *parameters: object) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        return cursor.fetchone()[0] if cursor.description else None


def _backend() -> int:
    """Return the server's process behind this thread's connection: the same one says that it was reused."""
    found: int = _sql("SELECT pg_backend_pid()")
    return found


def _seen() -> set[UUID]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT DISTINCT business_id FROM coaching_client")
        return {row[0] for row in cursor.fetchall()}


def _assert_no_scope() -> None:
    """Neither the application nor the database knows a business."""
    with pytest.raises(NoBusinessSetError):
        current_business_id()
    with pytest.raises(NoBusinessSetError):
        Client.objects.count()
    with pytest.raises((ProgrammingError, DataError)), transaction.atomic():
        _sql("SELECT count(*) FROM coaching_client")


def _end_from_outside(backend: int) -> None:
    """Do what a server's restart or an operator does to a connection."""
    with psycopg.connect(_conninfo(), autocommit=True) as other:
        assert other.execute("SELECT pg_terminate_backend(%s, 5000)", [backend]).fetchone() == (True,)


def _conninfo() -> str:
    service = settings.DATABASES["default"]
    named = {"user": service["USER"], "password": service["PASSWORD"], "host": service["HOST"], "port": service["PORT"]}
    found: str = psycopg.conninfo.make_conninfo(
        dbname=service["NAME"], **{name: value for name, value in named.items() if value}
    )
    return found


class BrokenError(Exception):
    pass


def _leave(_cast: Cast) -> None:
    pass


def _raise(_cast: Cast) -> None:
    raise BrokenError


def _roll_back(_cast: Cast) -> None:
    transaction.set_rollback(True)


def _fail_in_the_database(_cast: Cast) -> None:
    _sql("SELECT 1 / 0")


def _open_another(cast: Cast) -> None:
    with business_scope(cast.business_id):
        pass


def _open_another_twice(_cast: Cast) -> None:
    with pytest.raises(NestedBusinessScopeError), business_scope(uuid4()):
        pass
    assert len(_seen()) == 1


def _point_at_nothing(cast: Cast) -> None:
    # Found out at the commit only: the key is deferred.
    _sql("UPDATE coaching_client SET coach_id = %s", uuid4())


def _leave_a_setting(_cast: Cast) -> None:
    # By hand, as no code of ours does: for the transaction, it ends with it.
    _sql("SELECT set_config('app.business_id', %s, true)", str(uuid4()))


@pytest.mark.parametrize(
    "end",
    [
        _leave,
        _raise,
        _roll_back,
        _fail_in_the_database,
        _open_another,
        _open_another_twice,
        _point_at_nothing,
        _leave_a_setting,
    ],
)
@pytest.mark.parametrize("nested", [False, True], ids=["outermost", "in a transaction"])
@pytest.mark.usefixtures("committed")
def test_however_a_scope_ends_the_next_one_on_its_connection_is_its_own(
    end: Callable[[Cast], None], nested: bool
) -> None:
    ours, theirs = build_business("Northern Iron"), build_business("Harbour Strength")
    backend = _backend()

    def work() -> None:
        with business_scope(ours.business_id):
            assert _seen() == {ours.business_id}
            end(theirs)

    expected = {_raise: BrokenError, _fail_in_the_database: DataError, _open_another: NestedBusinessScopeError}
    if nested:
        with transaction.atomic():
            _end_of(work, expected.get(end))
            _assert_no_scope()
            with business_scope(theirs.business_id):
                assert _seen() == {theirs.business_id}
            transaction.set_rollback(True)
    else:
        _end_of(work, expected.get(end) or (Exception if end is _point_at_nothing else None))
    _assert_no_scope()
    with business_scope(theirs.business_id):
        assert (current_business_id(), _seen()) == (theirs.business_id, {theirs.business_id})
    _assert_no_scope()
    assert _backend() == backend, "the control: it was one connection all the time"


def _end_of(work: Callable[[], None], error: type[Exception] | None) -> None:
    if error is None:
        work()
        return
    with pytest.raises(error):
        work()


@pytest.mark.usefixtures("committed")
def test_what_waits_for_the_commit_runs_without_the_scope_and_may_open_one_of_its_own() -> None:
    ours, theirs = build_business("Northern Iron"), build_business("Harbour Strength")
    ran: list[set[UUID]] = []

    def after() -> None:
        _assert_no_scope()
        with business_scope(theirs.business_id):
            ran.append(_seen())

    with business_scope(ours.business_id):
        transaction.on_commit(after)
        assert ran == []
    assert ran == [{theirs.business_id}]


@pytest.mark.usefixtures("committed")
def test_a_connection_that_is_ended_in_the_middle_leaves_no_scope_to_the_next() -> None:
    ours, theirs = build_business("Northern Iron"), build_business("Harbour Strength")
    ended = _backend()

    def work() -> None:
        with business_scope(ours.business_id):
            Client.objects.update(name="Changed")
            _end_from_outside(ended)
            Client.objects.count()

    with pytest.raises((OperationalError, InterfaceError)):
        work()
    with pytest.raises(NoBusinessSetError):
        current_business_id()
    close_old_connections()
    _assert_no_scope()
    assert _backend() != ended
    with business_scope(theirs.business_id):
        assert _seen() == {theirs.business_id}
    with business_scope(ours.business_id):
        assert "Changed" not in set(Client.objects.values_list("name", flat=True)), "half of it was kept"


@pytest.mark.usefixtures("committed")
def test_a_request_whose_connection_is_ended_is_unavailable_and_the_next_is_in_its_own_business() -> None:
    ours, theirs = build_business("Northern Iron"), build_business("Harbour Strength")
    first, second, ended = ours.api(ours.owner), theirs.api(theirs.owner), []
    with business_scope(theirs.business_id):
        Client.objects.update(name="Theirs")

    def end_in_the_middle(execute: Any, statement: str, parameters: Any, many: bool, context: Any) -> Any:
        if not ended and "coaching_client" in statement:
            ended.append(connection.connection.info.backend_pid)
            assert current_business_id() == ours.business_id, "the control: in the middle of the scope"
            _end_from_outside(ended[0])
        return execute(statement, parameters, many, context)

    first.raise_request_exception = False
    with connection.execute_wrapper(end_in_the_middle):
        assert first.get("/api/v1/clients").status_code == 503
    # What each request begins with in a web server.
    close_old_connections()
    assert _names(second) == {"Theirs"}
    assert _backend() != ended[0]
    _assert_no_scope()
    # And one that ended between two requests.
    _end_from_outside(_backend())
    close_old_connections()
    assert _names(first) == {"Anna", "Ben", "Carl"}
    assert Browser().get("/api/v1/clients").status_code == 401
    _assert_no_scope()


def _names(api: Any) -> set[str]:
    answer = api.get("/api/v1/clients")
    assert answer.status_code == 200, answer.content
    return {item["name"] for item in answer.json()["items"]}


@pytest.mark.usefixtures("committed")
def test_requests_of_two_businesses_by_turns_on_one_connection_each_see_their_own() -> None:
    ours, theirs = build_business("Northern Iron"), build_business("Harbour Strength")
    with business_scope(theirs.business_id):
        Client.objects.update(name="Theirs")
    first, second, backends = ours.api(ours.owner), theirs.api(theirs.owner), set()
    for path, status in [("/api/v1/clients", 200), (f"/api/v1/clients/{theirs.anna.id}", 404)]:
        assert first.get(path).status_code == status
        assert _names(second) == {"Theirs"}
        refused = first.post("/api/v1/clients", {}, format="json")
        assert refused.status_code == 400
        assert _names(second) == {"Theirs"}
        assert Browser().get(path).status_code == 401
        _assert_no_scope()
        backends.add(_backend())
    assert len(backends) == 1


@pytest.mark.usefixtures("committed")
def test_threads_at_once_are_each_in_their_own_business() -> None:
    ours, theirs = build_business("Northern Iron"), build_business("Harbour Strength")
    inside = Barrier(3, timeout=20)

    def see(business_id: UUID | None) -> set[UUID]:
        try:
            if business_id is None:
                inside.wait()
                _assert_no_scope()
                inside.wait()
                return set()
            with business_scope(business_id):
                inside.wait()
                found = _seen() | set(Membership.objects.values_list("business_id", flat=True))
                inside.wait()
                return found
        finally:
            connection.close()

    with business_scope(ours.business_id), ThreadPoolExecutor(3) as pool:
        # From inside a scope, which a new thread doesn't inherit.
        found = list(pool.map(see, [ours.business_id, theirs.business_id, None]))
    assert found == [{ours.business_id}, {theirs.business_id}, set()]


@pytest.mark.usefixtures("committed")
def test_a_scope_handed_to_another_thread_opens_nothing_there() -> None:
    """Whoever copies the context takes the application's filter along, but no other connection has the setting."""
    ours = build_business("Northern Iron")
    outcomes: list[str] = []

    def look() -> None:
        try:
            outcomes.append(str(Client.objects.count()))
        except (ProgrammingError, DataError) as refused:
            outcomes.append(type(refused).__name__)
        finally:
            connection.close()

    with business_scope(ours.business_id):
        thread = Thread(target=copy_context().run, args=[look])
        thread.start()
        thread.join(20)

        async def aside() -> None:
            await sync_to_async(look, thread_sensitive=False)()

        with ThreadPoolExecutor(1) as pool:
            pool.submit(copy_context().run, asyncio.run, aside()).result(20)
    assert len(outcomes) == 2
    assert set(outcomes) <= {"ProgrammingError", "DataError"}
