"""`/assignments`."""

from collections.abc import Iterator
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.actions.programs import create_program
from programs.models import Assignment, PlannedSession, Variant
from tests.coaching.queries import statements_of
from tests.programs.documents import assign, published
from tests.scenario import NOON, Cast

PATH = "/api/v1/assignments"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def body(version: Any, *clients: Any, **more: Any) -> dict[str, Any]:
    return {
        "version": str(version),
        "calendar": "fixed_days",
        "start_date": "2031-03-10",
        "weekdays": [0, 2, 4],
        "clients": [{"client": str(client)} if not isinstance(client, dict) else client for client in clients],
    } | more


def version_of(cast: Cast) -> Any:
    with business_scope(cast.business_id):
        return published().id


def assigned(cast: Cast) -> str:
    answer = cast.api(cast.coach).post(PATH, body(version_of(cast), cast.anna.id), format="json")
    assignment_id: str = answer.json()["results"][0]["assignment"]
    return assignment_id


def test_each_client_has_a_result_and_the_others_still_land(cast: Cast, neighbour: Cast) -> None:
    request = body(
        version_of(cast),
        cast.anna.id,
        {"client": str(cast.ben.id), "start_date": "2031-03-17", "weekdays": [1, 3, 5]},
        cast.carl.id,
        neighbour.anna.id,
    )
    answer = cast.api(cast.coach).post(PATH, request, format="json")
    assert answer.status_code == 201, answer.content
    assert answer.json()["summary"] == {"assigned": 2, "conflict": 0, "refused": 2}
    anna, ben, carl, stranger = answer.json()["results"]
    assert (anna["outcome"], anna["session_count"], anna["first_date"]) == ("assigned", 6, "2031-03-10")
    assert (ben["outcome"], ben["first_date"]) == ("assigned", "2031-03-18")
    assert (carl["outcome"], carl["code"]) == (stranger["outcome"], stranger["code"]) == ("refused", "unknown_object")


def test_a_call_in_which_nobody_is_assigned_is_answered_with_200(cast: Cast) -> None:
    answer = cast.api(cast.coach).post(PATH, body(version_of(cast), cast.carl.id), format="json")
    assert (answer.status_code, answer.json()["summary"]["refused"]) == (200, 1)


def test_a_retry_under_the_same_key_assigns_once(cast: Cast) -> None:
    api, request = cast.api(cast.coach), body(version_of(cast), cast.anna.id)
    answers = [api.post(PATH, request, format="json", HTTP_IDEMPOTENCY_KEY="once") for _ in range(2)]
    assert answers[0].content == answers[1].content
    with business_scope(cast.business_id):
        assert Assignment.objects.count() == 1


def test_a_draft_and_a_strangers_version_are_refused(cast: Cast, neighbour: Cast) -> None:
    api = cast.api(cast.coach)
    with business_scope(cast.business_id):
        program = create_program(name="Unready", variants=["One"])
        variant = Variant.objects.get(program=program)
    draft = api.post(
        f"/api/v1/programs/{program.id}/versions", {"variant": str(variant.id), "content": {"weeks": []}}, format="json"
    ).json()
    unready = api.post(PATH, body(draft["id"], cast.anna.id), format="json")
    assert (unready.status_code, unready.json()["code"]) == (409, "not_assignable")
    for unknown in (version_of(neighbour), uuid4()):
        answer = api.post(PATH, body(unknown, cast.anna.id), format="json")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/version")


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"calendar": "whenever"}, "#/calendar"),
        ({"start_date": "10.3.2031"}, "#/start_date"),
        ({"weekdays": [7]}, "#/weekdays/0"),
        ({"clients": []}, "#/clients"),
        ({"clients": [{"client": str(uuid4())}] * 201}, "#/clients"),
        ({"calendar": "in_sequence"}, "#/late_after_days"),
        ({"late_after_days": 3}, "#/late_after_days"),
        ({"clients": [{"client": "anna"}]}, "#/clients/0/client"),
        ({"clients": [{"client": str(uuid4()), "start": "2031-03-10"}]}, "#/clients/0/start"),
        ({"startdate": "2031-03-10"}, "#/startdate"),
    ],
)
def test_a_bad_body_is_refused_at_its_place(cast: Cast, change: dict[str, Any], pointer: str) -> None:
    answer = cast.api(cast.coach).post(PATH, body(uuid4(), cast.anna.id) | change, format="json")
    assert answer.status_code == 400
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}


def test_one_and_forty_clients_take_as_many_statements(cast: Cast) -> None:
    api, counts = cast.api(cast.coach), []
    version = version_of(cast)
    for size in (1, 40):
        with business_scope(cast.business_id):
            clients = [
                Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg").id
                for number in range(size)
            ]
        with CaptureQueriesContext(connection) as queries:
            answer = api.post(PATH, body(version, *clients), format="json")
        assert answer.json()["summary"]["assigned"] == size
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_an_assignment_is_read_with_versions_pauses_and_counts(cast: Cast) -> None:
    assignment_id = assigned(cast)
    api = cast.api(cast.client_member)
    shown = api.get(f"{PATH}/{assignment_id}").json()
    assert (shown["client"], shown["state"], shown["weekdays"]) == (str(cast.anna.id), "active", [0, 2, 4])
    assert shown["session_counts"] == {"planned": 6}
    assert [(given["number"], given["from_date"]) for given in shown["versions"]] == [(1, "2031-03-10")]
    assert api.get(PATH).json()["items"] == [shown]
    assert cast.key("plans:read", clients=[cast.ben.id]).get(PATH).json()["items"] == []


def test_pausing_resuming_shifting_and_ending(cast: Cast) -> None:
    api, path = cast.api(cast.coach), f"{PATH}/{assigned(cast)}"
    paused = api.post(f"{path}/pause", {"from_date": "2031-03-12"}, format="json")
    assert (paused.status_code, paused.json()["state"]) == (200, "paused")
    assert paused.json()["session_counts"] == {"planned": 1, "paused": 5}
    resumed = api.post(f"{path}/resume", {"on": "2031-03-19"}, format="json").json()
    assert resumed["pauses"] == [{"from_date": "2031-03-12", "resumed_on": "2031-03-19"}]
    shifted = api.post(f"{path}/shift", {"days": 7}, format="json")
    assert shifted.status_code == 200
    assert api.patch(path, {"state": "ended"}, format="json").status_code == 428
    ended = api.patch(path, {"state": "ended"}, format="json", HTTP_IF_MATCH=shifted.headers["ETag"])
    assert (ended.json()["state"], ended.json()["session_counts"]) == ("ended", {})
    assert api.post(f"{path}/shift", {"days": 7}, format="json").status_code == 409


def test_weekdays_change_from_a_date(cast: Cast) -> None:
    api, path = cast.api(cast.coach), f"{PATH}/{assigned(cast)}"
    request = {"weekdays": [5, 1, 3], "from_date": "2031-03-17"}
    changed = api.patch(path, request, format="json", HTTP_IF_MATCH="*")
    assert (changed.status_code, changed.json()["weekdays"]) == (200, [1, 3, 5])
    with business_scope(cast.business_id):
        days = PlannedSession.objects.order_by("local_date").values_list("local_date", flat=True)
        assert [day.weekday() for day in days] == [0, 2, 4, 1, 3, 5]


def test_a_date_in_the_past_is_refused_and_nothing_moves(cast: Cast) -> None:
    api, path = cast.api(cast.coach), f"{PATH}/{assigned(cast)}"
    answer = api.post(f"{path}/pause", {"from_date": "2031-03-04"}, format="json")
    (fault,) = answer.json()["errors"]
    assert (answer.status_code, fault["pointer"], fault["code"]) == (400, "#/from_date", "date_in_past")
    assert api.get(path).json()["state"] == "active"


@pytest.mark.parametrize("change", [{}, {"state": "ended", "weekdays": [0, 1, 2]}, {"state": "paused"}])
def test_a_change_asks_one_thing(cast: Cast, change: dict[str, Any]) -> None:
    answer = cast.api(cast.coach).patch(f"{PATH}/{assigned(cast)}", change, format="json", HTTP_IF_MATCH="*")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/state")


@pytest.mark.parametrize(
    ("method", "tail", "request_body"),
    [
        ("get", "", None),
        ("patch", "", {"state": "ended"}),
        ("post", "/pause", {"from_date": "2031-03-12"}),
        ("post", "/resume", {"on": "2031-03-12"}),
        ("post", "/shift", {"days": 7}),
    ],
)
def test_another_coachs_and_a_neighbours_assignment_are_not_there(
    cast: Cast, neighbour: Cast, method: str, tail: str, request_body: Any
) -> None:
    mine = assigned(cast)
    with business_scope(cast.business_id):
        (carls,) = assign(cast.head, published(), cast.carl.id)
    theirs = assigned(neighbour)
    api = cast.api(cast.coach)
    for assignment_id in (carls.assignment_id, theirs, uuid4()):
        answer = getattr(api, method)(f"{PATH}/{assignment_id}{tail}", request_body, format="json", HTTP_IF_MATCH="*")
        assert answer.status_code == 404
    assert api.get(f"{PATH}/{mine}").json()["row_version"] == 1


def test_a_strangers_client_in_the_filter_is_unknown(cast: Cast, neighbour: Cast) -> None:
    for client in (cast.carl, neighbour.anna):
        answer = cast.api(cast.coach).get(f"{PATH}?client={client.id}")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "?client")


def test_fifty_rows_take_as_many_statements_as_one(cast: Cast) -> None:
    with business_scope(cast.business_id):
        clients = [
            Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg").id
            for number in range(50)
        ]
        assign(cast.coach, published(), *clients, start_date=date(2031, 3, 10))
    api = cast.api(cast.coach)
    assert statements_of(api, f"{PATH}?limit=1") == statements_of(api, f"{PATH}?limit=50")
