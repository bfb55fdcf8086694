"""Every operation of the API with the ids of what its caller may not see: as if there were nothing there."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

import psycopg
import pytest
from django.conf import settings
from django.db import connection, connections, transaction

from coaching.models import AuditEntry, Client, ConsentText, Erasure
from coaching.policy import Scope
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.weekly_progress import refresh_weeks
from tests.architecture.calls import BODIES, CALLS, FILTERS, Ids
from tests.architecture.checksums import BUSINESS_TABLES, TABLES_OF_CLIENTS, row_checksums
from tests.architecture.world import AFTER, CLIENTS_OWN, build_world
from tests.business_models import BUSINESS_MODELS
from tests.scenario import Cast

_LOGIN = ("dbname", "user", "password", "host", "port")
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


@dataclass(frozen=True)
class Seen:
    """What a caller learns from an answer, but for the ids that they named and the request's own."""

    status: int
    body: str
    headers: tuple[str, ...]


def _seen(answer: Any, ids: Ids) -> Seen:
    body = answer.content.decode(errors="replace")
    for name, value in ids.items():
        body = body.replace(value, name)
    body = re.sub(r'"request_id":"[^"]*"', "", body)
    return Seen(answer.status_code, _UUID.sub("uuid", body), tuple(sorted(answer.headers)))


def _strangers(ids: Ids, names: Iterable[str]) -> dict[str, str]:
    return {**ids, **{name: str(uuid4()) for name in names}}


def _of_the_business(ids: Ids) -> list[str]:
    # A catalogue's key names an exercise of every business.
    return sorted(set(ids) - {"exercise"})


def _differences(
    api: Any, ids: Ids, hidden: Iterable[str], business_id: UUID, *, own: Ids | None = None, **rows: Any
) -> dict[str, Any]:
    """Return, for each call that names something hidden, what its answer gives away or what it changes.

    With `own`, each hidden id stands alone among the caller's own, too, where the call names several.
    """
    hidden = sorted(hidden)
    before, found = row_checksums(business_id, **rows), {}
    for call in CALLS:
        named = [name for name in hidden if call.differs(ids, _strangers(ids, [name]))]
        if not named:
            continue
        mixtures = [(ids, named)]
        if own is not None and len(named) > 1:
            mixtures += [({**own, name: ids[name]}, [name]) for name in named]
        for mixture, names in mixtures:
            with transaction.atomic():
                real = _seen(call.send(api, mixture), mixture)
                changed = [table for table, sums in row_checksums(business_id, **rows).items() if sums != before[table]]
                transaction.set_rollback(True)
            nothing = _strangers(mixture, names)
            with transaction.atomic():
                unreal = _seen(call.send(api, nothing), nothing)
                transaction.set_rollback(True)
            if real != unreal or changed or real.status >= 500:
                found[f"{call} with {names}"] = (real, unreal, changed)
    return found


@pytest.fixture
def row_security_off(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Let the service's role see every row for a while: what keeps businesses apart is the application alone.

    Name it before the businesses: a policy waits for every transaction that has read its table.
    """
    with django_db_blocker.unblock():
        try:
            _as_owner(f"CREATE POLICY open_to_all ON {{table}} TO {settings.SERVICE_ROLE} USING (true)")
            yield
        finally:
            # A test that failed may have left its transaction open.
            connections["default"].close()
            _as_owner("DROP POLICY IF EXISTS open_to_all ON {table}")


def _as_owner(statement: str) -> None:
    owner = connections["owner"].get_connection_params()
    with psycopg.connect(**{name: owner[name] for name in _LOGIN if owner.get(name)}) as connected:
        connected.execute("SET lock_timeout = '10s'")
        for table in (*BUSINESS_TABLES, "coaching_business"):
            connected.execute(statement.format(table=table))


def test_every_call_with_a_body_and_every_filter_is_in_the_matrix() -> None:
    assert set(BODIES) == {call.operation for call in CALLS if call.method not in {"GET", "DELETE"}}
    assert {call.parameter for call in CALLS} == {"", *FILTERS}


def test_the_ids_are_real_ones_to_those_who_may_see_them(cast: Cast, world: dict[str, str]) -> None:
    """The control: with the same bodies the business's own owner is answered otherwise than with ids of nothing."""
    api, nothing = cast.api(cast.owner), _strangers(world, _of_the_business(world))
    same = {}
    for call in CALLS:
        if not call.differs(world, nothing):
            continue
        with transaction.atomic():
            real, unreal = _seen(call.send(api, world), world), _seen(call.send(api, nothing), nothing)
            transaction.set_rollback(True)
        if real == unreal or real.status in {400, 404, 500}:
            same[str(call)] = real
    # A wrong password is answered alike wherever it is for.
    assert set(same) == {"sessions.create"}


def test_a_neighbours_owner_finds_nothing_at_real_ids_and_changes_nothing(
    cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    own, api = build_world(neighbour), neighbour.api(neighbour.owner)
    assert _differences(api, world, _of_the_business(world), cast.business_id, own=own) == {}


def test_a_neighbours_key_of_every_scope_finds_nothing_at_real_ids_and_changes_nothing(
    cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    api = neighbour.key(*Scope)
    assert _differences(api, world, _of_the_business(world), cast.business_id) == {}


@pytest.mark.parametrize("who", ["other_coach", "viewer", "narrowed_key"])
def test_a_caller_finds_nothing_of_a_client_whom_they_may_not_see(cast: Cast, world: dict[str, str], who: str) -> None:
    api = cast.key(*Scope, clients=[cast.carl.id]) if who == "narrowed_key" else cast.api(getattr(cast, who))
    hers = f"t.client_id IN ('{cast.anna.id}', '{cast.ben.id}')"
    assert _differences(api, world, CLIENTS_OWN, cast.business_id, tables=TABLES_OF_CLIENTS, only=hers) == {}


def test_without_row_security_the_application_alone_keeps_the_neighbour_out(
    row_security_off: None, cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    own = build_world(neighbour)
    with business_scope(cast.business_id):
        # The control: row-level security is off indeed.
        assert set(Client.unscoped.values_list("business_id", flat=True)) == {cast.business_id, neighbour.business_id}
    api = neighbour.api(neighbour.owner)
    assert _differences(api, world, _of_the_business(world), cast.business_id, own=own) == {}


def test_without_row_security_each_list_holds_its_own_business_only(
    row_security_off: None, cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    lists = [call for call in CALLS if call.method == "GET" and call.operation != "program_versions.diff"]
    api = cast.api(cast.owner)

    def answers() -> dict[str, str]:
        found = {}
        for call in lists:
            with transaction.atomic():
                found[str(call)] = call.send(api, world).content.decode(errors="replace")
                # That a file was taken is written down, and listed.
                transaction.set_rollback(True)
        return found

    alone = answers()
    build_world(neighbour)
    assert answers() == alone


def test_without_row_security_each_table_is_read_by_its_own_business_only(
    row_security_off: None, cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    build_world(neighbour)
    with business_scope(cast.business_id):
        for model in BUSINESS_MODELS:
            assert set(model.objects.order_by().values_list("business_id", flat=True)) <= {cast.business_id}, model


def test_without_row_security_the_neighbours_jobs_leave_every_row_alone(
    row_security_off: None, cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    before = row_checksums(cast.business_id)
    build_world(neighbour)
    detect_missed(neighbour.business_id, AFTER)
    refresh_weeks(neighbour.business_id, AFTER)
    assert row_checksums(cast.business_id) == before


def test_without_the_applications_filter_row_security_alone_hides_every_row(
    cast: Cast, neighbour: Cast, world: dict[str, str]
) -> None:
    with business_scope(cast.business_id):
        real = {model: list(model.unscoped.values_list("id", flat=True)) for model in BUSINESS_MODELS}
    assert {model.__name__ for model, ids in real.items() if not ids} == set(WITHOUT_ROWS)
    before = row_checksums(cast.business_id)
    with business_scope(neighbour.business_id):
        for model, ids in real.items():
            rows = model.unscoped.filter(id__in=ids)
            assert list(rows) == [], model
            if model in {AuditEntry, ConsentText, Erasure}:
                continue
            assert rows.update(id=uuid4()) == 0, model
            with connection.cursor() as cursor:
                table = model._meta.db_table
                cursor.execute(f"SELECT count(*) FROM {table} WHERE id = ANY (%s)", [ids])
                assert cursor.fetchone() == (0,), model
                cursor.execute(f"DELETE FROM {table} WHERE id = ANY (%s)", [ids])
                assert cursor.rowcount == 0, model
    assert row_checksums(cast.business_id) == before


WITHOUT_ROWS = {
    "AlertDigest": "made by a job at a coach's morning",
    "AssignmentPause": "nobody is paused",
    "Erasure": "nobody was erased",
    "IdempotentAnswer": "no call had a key",
    "LogRevision": "no log was corrected",
    "StaleWeek": "the refresh took them",
}
"""Models of which the world has no row, each with its reason; their policies are checked with the catalogue."""
