"""`/planned-sessions`."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.models import PlannedSession
from tests.coaching.queries import statements_of
from tests.programs.documents import MONDAY, assign, content, published, sessions
from tests.scenario import NOON, Cast

PATH = "/api/v1/planned-sessions"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def rows(cast: Cast) -> list[PlannedSession]:
    with business_scope(cast.business_id):
        assign(cast.head, published(), cast.anna.id, cast.ben.id, cast.carl.id)
        return sessions(cast.anna.id)


def listed(api: Any, query: str = "") -> list[Any]:
    items: list[Any] = api.get(f"{PATH}{query}").json()["items"]
    return items


def change(api: Any, row: PlannedSession, **what: Any) -> Any:
    return api.patch(f"{PATH}/{row.id}", what, format="json", HTTP_IF_MATCH='"v1"')


def test_each_caller_sees_the_sessions_they_may(cast: Cast, neighbour: Cast, rows: list[PlannedSession]) -> None:
    def clients(api: Any) -> set[str]:
        return {item["client"] for item in listed(api)}

    anna, ben, carl = (str(client.id) for client in (cast.anna, cast.ben, cast.carl))
    assert clients(cast.api(cast.owner)) == {anna, ben, carl}
    assert clients(cast.api(cast.coach)) == {anna, ben}
    assert clients(cast.api(cast.client_member)) == {anna}
    assert clients(cast.key("plans:read", clients=[cast.ben.id])) == {ben}
    assert clients(neighbour.api(neighbour.owner)) == set()
    assert cast.key("logs:write").get(PATH).status_code == 403


def test_a_session_is_read_with_its_resolved_loads(cast: Cast, rows: list[PlannedSession]) -> None:
    answer = cast.api(cast.client_member).get(f"{PATH}/{rows[0].id}")
    shown = answer.json()
    assert (shown["local_date"], shown["state"], shown["calendar"]) == ("2031-03-10", "planned", "fixed_days")
    assert shown["due_at"] == "2031-03-11T05:00:00+00:00"
    assert shown["prescribed"]["blocks"][0]["slots"][0]["sets"][1]["load_kg"] == "80"
    assert shown["slot_classes"] == {"A1": ["unspecified"] * 2 + ["standard"] * 4}
    assert answer.headers["ETag"] == '"v1"'


def test_the_calendar_is_filtered(cast: Cast, rows: list[PlannedSession]) -> None:
    api = cast.api(cast.coach)
    week = listed(api, f"?client={cast.anna.id}&from=2031-03-12&to=2031-03-17")
    assert [item["local_date"] for item in week] == ["2031-03-12", "2031-03-14", "2031-03-17"]
    change(api, rows[1], state="excused", excuse_reason="A wedding.")
    assert [item["id"] for item in listed(api, "?state=excused")] == [str(rows[1].id)]
    of_assignment = listed(api, f"?assignment={rows[0].assignment_id}")
    assert {item["client"] for item in of_assignment} == {str(cast.anna.id)}


def test_a_stranger_in_a_filter_is_unknown(cast: Cast, neighbour: Cast, rows: list[PlannedSession]) -> None:
    for query in (f"?client={cast.carl.id}", f"?client={neighbour.anna.id}", f"?assignment={uuid4()}"):
        answer = cast.api(cast.coach).get(PATH + query)
        assert (answer.status_code, answer.json()["code"]) == (400, "unknown_object")


def test_a_coach_moves_excuses_and_gives_back(cast: Cast, rows: list[PlannedSession]) -> None:
    api = cast.api(cast.coach)
    moved = change(api, rows[0], local_date="2031-03-18")
    assert (moved.json()["local_date"], moved.headers["ETag"]) == ("2031-03-18", '"v2"')
    excused = change(api, rows[1], state="excused", excuse_reason="A wedding.").json()
    assert (excused["state"], excused["excuse_reason"]) == ("excused", "A wedding.")
    back = api.patch(f"{PATH}/{rows[1].id}", {"state": "planned"}, format="json", HTTP_IF_MATCH='"v2"').json()
    assert (back["state"], back["excuse_reason"]) == ("planned", "")


def test_a_client_moves_inside_the_week_and_excuses_nothing(cast: Cast, rows: list[PlannedSession]) -> None:
    api = cast.api(cast.client_member)
    outside = change(api, rows[0], local_date="2031-03-17")
    assert (outside.status_code, outside.json()["errors"][0]["pointer"]) == (400, "#/local_date")
    excused = change(api, rows[0], state="excused")
    assert (excused.status_code, excused.json()["code"]) == (409, "coach_only")
    assert change(api, rows[0], local_date="2031-03-11").json()["moved_from"] == "2031-03-10"


@pytest.mark.parametrize(
    ("what", "pointer"),
    [
        ({}, "#/local_date"),
        ({"local_date": "2031-03-04"}, "#/local_date"),
        ({"state": "done"}, "#/state"),
        ({"excuse_reason": "Why not", "state": "planned"}, "#/excuse_reason"),
        ({"state": "excused", "local_date": "2031-03-11"}, "#/local_date"),
        ({"localdate": "2031-03-11"}, "#/localdate"),
    ],
)
def test_a_bad_change_is_refused_and_nothing_is_written(
    cast: Cast, rows: list[PlannedSession], what: dict[str, Any], pointer: str
) -> None:
    answer = change(cast.api(cast.coach), rows[0], **what)
    assert answer.status_code == 400
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}
    with business_scope(cast.business_id):
        assert PlannedSession.objects.get(id=rows[0].id).row_version == 1


def test_a_change_names_the_version_it_starts_from(cast: Cast, rows: list[PlannedSession]) -> None:
    api, path = cast.api(cast.coach), f"{PATH}/{rows[0].id}"
    assert api.patch(path, {"state": "excused"}, format="json").status_code == 428
    assert api.patch(path, {"state": "excused"}, format="json", HTTP_IF_MATCH='"v5"').status_code == 412


def test_a_strangers_session_is_not_there(cast: Cast, neighbour: Cast, rows: list[PlannedSession]) -> None:
    with business_scope(cast.business_id):
        carls = sessions(cast.carl.id)[0]
    with business_scope(neighbour.business_id):
        assign(neighbour.head, published(), neighbour.anna.id)
        theirs = sessions(neighbour.anna.id)[0]
    api = cast.api(cast.coach)
    for session_id in (carls.id, theirs.id, uuid4()):
        assert api.get(f"{PATH}/{session_id}").status_code == 404
        answer = api.patch(f"{PATH}/{session_id}", {"state": "excused"}, format="json", HTTP_IF_MATCH="*")
        assert answer.status_code == 404


def test_viewers_and_keys_change_nothing(cast: Cast, rows: list[PlannedSession]) -> None:
    for api in (cast.api(cast.viewer), cast.key("plans:read")):
        assert change(api, rows[0], state="excused").status_code == 403


def test_fifty_rows_of_many_clients_take_as_many_statements_as_one(cast: Cast) -> None:
    with business_scope(cast.business_id):
        clients = [
            Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg").id
            for number in range(10)
        ]
        assign(cast.coach, published(content(weeks=3)), *clients, start_date=MONDAY + timedelta(days=7))
    api = cast.api(cast.coach)
    assert statements_of(api, f"{PATH}?limit=1") == statements_of(api, f"{PATH}?limit=50")
    assert len(listed(api, "?limit=50")) == 50
