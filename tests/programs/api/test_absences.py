"""`/absences`."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.models import Absence
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.programs.documents import MONDAY, assign, published, sessions
from tests.scenario import NOON, Cast

PATH = "/api/v1/absences"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def record(api: Any, whose: Any, **more: Any) -> Any:
    body = {"client": str(whose.id), "starts_on": "2031-03-10", "ends_on": "2031-03-12", "kind": "holiday"}
    return api.post(PATH, body | more, format="json")


def test_an_absence_excuses_and_its_removal_gives_back(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
    api = cast.api(cast.coach)
    made = record(api, cast.anna, note="Lake district")
    assert made.status_code == 201, made.content
    assert (made.json()["treatment"], made.json()["note"]) == ("pause", "Lake district")
    path = made.headers["Location"]
    assert cast.api(cast.client_member).get(path).json() == made.json()
    with business_scope(cast.business_id):
        assert [row.state for row in sessions(cast.anna.id)][:3] == ["excused", "excused", "planned"]
    assert api.delete(path).status_code == 428
    assert api.delete(path, HTTP_IF_MATCH=made.headers["ETag"]).status_code == 204
    assert api.get(path).status_code == 404
    with business_scope(cast.business_id):
        assert {row.state for row in sessions(cast.anna.id)} == {"planned"}


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"ends_on": "2031-03-09"}, "#/ends_on"),
        ({"ends_on": "2032-06-09"}, "#/ends_on"),
        ({"kind": "bored"}, "#/kind"),
        ({"until": "2031-03-12"}, "#/until"),
        ({"client": str(uuid4())}, "#/client"),
    ],
)
def test_a_bad_absence_is_refused_and_nothing_is_written(cast: Cast, change: dict[str, Any], pointer: str) -> None:
    answer = record(cast.api(cast.coach), cast.anna, **change)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)
    with business_scope(cast.business_id):
        assert not Absence.objects.exists()


def test_strangers_are_neither_recorded_nor_seen(cast: Cast, neighbour: Cast) -> None:
    made = record(cast.api(cast.coach), cast.anna).json()
    for client in (cast.carl, neighbour.anna):
        assert record(cast.api(cast.coach), client).json()["code"] == "unknown_object"
    for api in (cast.api(cast.other_coach), neighbour.api(neighbour.owner)):
        assert api.get(PATH).json()["items"] == []
        assert api.get(f"{PATH}/{made['id']}").status_code == 404
        assert api.delete(f"{PATH}/{made['id']}", HTTP_IF_MATCH="*").status_code in (403, 404)
    with business_scope(cast.business_id):
        assert Absence.objects.count() == 1


def test_clients_see_their_own_and_record_none(cast: Cast) -> None:
    record(cast.api(cast.coach), cast.anna)
    record(cast.api(cast.coach), cast.ben)
    api = cast.api(cast.client_member)
    assert [item["client"] for item in api.get(PATH).json()["items"]] == [str(cast.anna.id)]
    assert record(api, cast.anna).status_code == 403


def test_absences_are_listed_by_the_days_that_they_touch(cast: Cast) -> None:
    api = cast.api(cast.coach)
    record(api, cast.anna)
    record(api, cast.ben, starts_on="2031-04-01", ends_on="2031-04-03")
    assert len(api.get(f"{PATH}?from=2031-03-12&to=2031-03-31").json()["items"]) == 1
    assert len(api.get(f"{PATH}?from=2031-03-13&to=2031-03-31").json()["items"]) == 0
    assert len(api.get(f"{PATH}?client={cast.ben.id}").json()["items"]) == 1
    assert api.get(f"{PATH}?client={cast.carl.id}").json()["code"] == "unknown_object"


def test_fifty_rows_take_as_many_statements_as_one(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Absence.objects.bulk_create(
            [
                Absence(client=cast.anna, starts_on=MONDAY + timedelta(days=day), ends_on=MONDAY + timedelta(days=day))
                for day in range(50)
            ]
        )
    api = cast.api(cast.coach)
    assert statements_of(api, f"{PATH}?limit=1") == statements_of(api, f"{PATH}?limit=50")
