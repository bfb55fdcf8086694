"""Pages: each row once, by an index, whatever happens between them."""

from typing import Any
from uuid import UUID

import pytest
from django.db import connection
from django.http import HttpRequest
from django.test import RequestFactory
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coaching.http.pagination import Keyset
from coaching.models import Client
from coaching.refusals import Invalid
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast


def _walk(api: Any, path: str) -> list[dict[str, Any]]:
    items: list[dict[str, Any]] = []
    address: str | None = path
    while address:
        page = api.get(address).json()
        items += page["items"]
        address = page["next"]
    return items


def _clients(cast: Cast, names: list[str]) -> None:
    with business_scope(cast.business_id):
        Client.objects.bulk_create([Client(name=name, coach=cast.coach, time_zone="UTC", unit="kg") for name in names])


def test_rows_that_tie_are_each_seen_once(cast: Cast) -> None:
    _clients(cast, ["Same"] * 23)
    items = _walk(cast.api(cast.owner), "/api/v1/clients?limit=4")
    assert len(items) == 26
    assert len({item["id"] for item in items}) == 26
    assert [item["name"] for item in items] == sorted(item["name"] for item in items)


def test_a_page_names_the_next_in_body_and_link(cast: Cast) -> None:
    answer = cast.api(cast.owner).get("/api/v1/clients?limit=2")
    following = answer.json()["next"]
    assert answer.headers["Link"] == f'<{following}>; rel="next"'
    assert "limit=2" in following
    last = cast.api(cast.owner).get(following)
    assert last.json()["next"] is None
    assert "Link" not in last.headers


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    names=st.lists(st.sampled_from(["Ada", "Bo", "Cy"]), min_size=1, max_size=12),
    limit=st.integers(1, 5),
    changes=st.lists(st.tuples(st.booleans(), st.sampled_from(["Aa", "Bo", "Dy"])), max_size=4),
    falling=st.booleans(),
)
def test_a_walk_while_rows_come_and_go_sees_every_stable_row_once(
    cast: Cast, names: list[str], limit: int, changes: list[tuple[bool, str]], falling: bool
) -> None:
    order = ("-name", "-id") if falling else ("name", "id")
    keyset = Keyset(order, salt="test")
    with business_scope(cast.business_id):
        Client.objects.all().delete()
        for name in names:
            Client.objects.create(name=name, coach=cast.coach, time_zone="UTC", unit="kg")
        stable: set[UUID] = set(Client.objects.values_list("id", flat=True))
        seen: list[UUID] = []
        passing: list[Client] = []
        request: HttpRequest = RequestFactory().get("/x")
        cursor, pending = None, list(changes)
        while True:
            page = keyset.page(request, Client.objects.values("id", "name"), cursor=cursor, limit=limit)
            seen += [row["id"] for row in page.rows]
            if page.next_url is None:
                break
            cursor = RequestFactory().get(page.next_url).GET["cursor"]
            if pending:
                adds, name = pending.pop()
                if adds or not passing:
                    passing.append(Client.objects.create(name=name, coach=cast.coach, time_zone="UTC", unit="kg"))
                else:
                    passing.pop().delete()
    assert [client for client in seen if client in stable] == sorted(
        stable, key=[client for client in seen if client in stable].index
    )
    assert len(seen) == len(set(seen))
    assert stable <= set(seen)


@pytest.mark.parametrize(
    "change",
    [
        lambda address: address.replace("cursor=", "cursor=x"),
        lambda address: f"{address}&name=A",
        lambda address: address.replace("/clients", "/coaches"),
    ],
    ids=["edited", "other filters", "another list"],
)
def test_a_cursor_serves_only_the_list_that_made_it(cast: Cast, change: Any) -> None:
    following = cast.api(cast.owner).get("/api/v1/clients?limit=1").json()["next"]
    answer = cast.api(cast.owner).get(change(following))
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["code"] == "invalid_cursor"


def test_a_neighbours_cursor_is_refused(cast: Cast, neighbour: Cast) -> None:
    following = neighbour.api(neighbour.owner).get("/api/v1/clients?limit=1").json()["next"]
    assert cast.api(cast.owner).get(following).status_code == 400


def test_a_page_seeks_by_a_row_comparison(cast: Cast) -> None:
    """The comparison is undocumented in Django: the plan is what must hold."""
    keyset = Keyset(("name", "id"), salt="test")
    with business_scope(cast.business_id):
        rows = Client.objects.filter(keyset._after(["B", cast.anna.id])).order_by(*keyset.order)[:50]
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_sort = off")
        plan = rows.explain()
    assert "client_name" in plan
    condition = next(line for line in plan.splitlines() if "Index Cond" in line)
    assert "ROW(" in condition


def test_columns_that_rise_and_fall_are_no_keyset() -> None:
    with pytest.raises(ValueError, match="all rise or all fall"):
        Keyset(("-at", "id"), salt="test")


def test_a_cursor_for_another_order_is_refused(cast: Cast) -> None:
    request = RequestFactory().get("/x")
    with business_scope(cast.business_id):
        page = Keyset(("name", "id"), salt="s").page(request, Client.objects.all(), cursor=None, limit=1)
        assert page.next_url is not None
        cursor = RequestFactory().get(page.next_url).GET["cursor"]
        with pytest.raises(Invalid, match="another order"):
            Keyset(("-name", "-id"), salt="s").page(request, Client.objects.all(), cursor=cursor, limit=1)
