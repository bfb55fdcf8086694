"""Logs one at a time, and the lists of them."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.logs.logging import check_in, post, session, set_

PATHS = {"session-logs": session, "set-logs": set_, "check-ins": check_in}


@pytest.fixture
def app(cast):
    return cast.key("logs:write", "logs:read")


@pytest.mark.parametrize("path", PATHS)
def test_a_log_is_created_then_unchanged_then_corrected(cast, app, path):
    if path == "set-logs":
        post(app, session_logs=[session(cast.anna)])
    item = PATHS[path](cast.anna)
    created = app.post(f"/api/v1/{path}", item, format="json")
    assert (created.status_code, created.json()["outcome"], created["ETag"]) == (201, "created", '"v1"')
    assert created["Location"] == f"/api/v1/{path}/{created.json()['id']}"
    again = app.post(f"/api/v1/{path}", item, format="json")
    assert (again.status_code, again.json()["outcome"], again["ETag"]) == (200, "unchanged", '"v1"')
    corrected = app.post(f"/api/v1/{path}", {**item, "notes": "tired"}, format="json")
    assert (corrected.status_code, corrected.json()["outcome"], corrected["ETag"]) == (200, "corrected", '"v2"')
    shown = app.get(created["Location"])
    assert (shown.json(), shown["ETag"]) == (corrected.json()["log"], '"v2"')
    assert shown.json()["notes"] == "tired"


def test_a_single_set_without_its_session_is_held_and_says_so(cast, app):
    answer = app.post("/api/v1/set-logs", set_(cast.anna), format="json")
    assert (answer.status_code, answer.json()["outcome"], answer.json()["waits_for"]) == (200, "held", "s1")
    assert answer.json()["id"] is None


def test_a_single_check_in_is_cautioned_in_its_answer(cast, app):
    answer = app.post("/api/v1/check-ins", check_in(cast.anna, symptoms=["chest_pain"]), format="json")
    assert answer.json()["cautions"][0]["action"] == "stop_training"


@pytest.mark.parametrize("path", PATHS)
def test_a_refused_log_tells_every_fault_at_its_own_place(cast, app, path):
    refused = app.post(f"/api/v1/{path}", {**PATHS[path](cast.anna), "colour": 1, "revision": -1}, format="json")
    assert refused.status_code == 400
    assert {one["pointer"] for one in refused.json()["errors"]} == {"#/colour", "#/revision"}


def test_a_log_of_a_client_whom_one_may_not_see_is_refused_as_unknown(cast, neighbour):
    answer = cast.api(cast.coach).post("/api/v1/check-ins", check_in(neighbour.anna), format="json")
    assert (answer.status_code, answer.json()["type"]) == (400, "/docs/problems/unknown_object")


def test_loads_are_returned_in_both_units_and_as_entered(cast, app):
    post(app, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna, load_kg=..., load_lb=225)])
    shown = app.get("/api/v1/set-logs").json()["items"][0]
    assert (shown["load_lb"], shown["load_kg"]) == (225, 102.05828325)
    assert shown["load_entered"] == {"value": 225, "unit": "lb"}


@pytest.mark.parametrize("path", PATHS)
def test_lists_show_what_the_caller_may_see_by_client_and_dates(cast, app, neighbour, path):
    def sent(client, external_id, day):
        fields = {} if path == "set-logs" else {"local_date": day}
        return PATHS[path](client, external_id, **fields)

    for client in (cast.anna, cast.carl):
        post(
            app,
            session_logs=[
                session(client, "early", local_date="2026-03-02"),
                session(client, "late", local_date="2026-03-09"),
            ],
        )
    lists = {
        "session-logs": {},
        "set-logs": {
            "set_logs": [
                set_(client, f"{word}-1", session_external_id=word)
                for client in (cast.anna, cast.carl)
                for word in ("early", "late")
            ]
        },
        "check-ins": {
            "check_ins": [
                check_in(client, f"{word}-1", local_date=day)
                for client in (cast.anna, cast.carl)
                for word, day in (("early", "2026-03-02"), ("late", "2026-03-09"))
            ]
        },
    }
    post(app, **lists[path])

    def found(api, query=""):
        return [(one["client"], one["local_date"]) for one in api.get(f"/api/v1/{path}{query}").json()["items"]]

    anna, carl = str(cast.anna.id), str(cast.carl.id)
    assert set(found(cast.api(cast.head))) == {
        (one, day) for one in (anna, carl) for day in ("2026-03-02", "2026-03-09")
    }
    assert found(cast.api(cast.coach)) == [(anna, "2026-03-09"), (anna, "2026-03-02")]
    assert found(cast.api(cast.client_member)) == [(anna, "2026-03-09"), (anna, "2026-03-02")]
    assert found(cast.api(cast.head), f"?client={carl}&to=2026-03-08") == [(carl, "2026-03-02")]
    assert found(cast.api(cast.head), f"?client={carl}&from=2026-03-03") == [(carl, "2026-03-09")]
    assert found(neighbour.api(neighbour.owner)) == []


@pytest.mark.parametrize("path", [*PATHS, "held-items", "log-batches"])
def test_a_list_costs_as_many_queries_for_one_row_as_for_fifty(cast, app, path):
    def count():
        with CaptureQueriesContext(connection) as captured:
            rows = len(cast.api(cast.owner).get(f"/api/v1/{path}").json()["items"])
        return rows, len(captured)

    cast.api(cast.owner)
    numbers = range(30)
    post(
        app,
        session_logs=[session(cast.anna)],
        set_logs=[set_(cast.anna), set_(cast.anna, "x", session_external_id="x")],
        check_ins=[check_in(cast.anna)],
    )
    one = count()
    post(
        app,
        session_logs=[session(cast.anna, f"n{number}") for number in numbers],
        set_logs=[
            *(set_(cast.anna, f"n{number}") for number in numbers),
            *(set_(cast.anna, f"h{number}", session_external_id="y") for number in numbers),
        ],
        check_ins=[check_in(cast.anna, f"n{number}") for number in numbers],
    )
    many = count()
    assert (one[0], one[1]) == (1, many[1])
    assert many[0] == (2 if path == "log-batches" else 31)


def test_sets_are_listed_by_session(cast, app):
    answer = post(
        app,
        session_logs=[session(cast.anna), session(cast.anna, "s2")],
        set_logs=[set_(cast.anna), set_(cast.anna, "s2-1", session_external_id="s2")],
    )
    found = app.get(f"/api/v1/set-logs?session_log={answer['items'][1]['id']}").json()["items"]
    assert [one["external_id"] for one in found] == ["s2-1"]


def test_a_log_of_another_business_is_not_there_in_any_verb(cast, neighbour):
    post(cast.key("logs:write"), session_logs=[session(cast.anna)])
    log_id = cast.api(cast.owner).get("/api/v1/session-logs").json()["items"][0]["id"]
    stranger = neighbour.api(neighbour.owner)
    path = f"/api/v1/session-logs/{log_id}"
    answers = (
        stranger.get(path),
        stranger.patch(path, {"notes": "x"}, format="json", headers={"If-Match": "*"}),
        stranger.delete(path, headers={"If-Match": "*"}),
    )
    assert {answer.status_code for answer in answers} == {404}


@pytest.mark.parametrize("path", [*PATHS, "held-items"])
def test_a_list_of_a_client_whom_one_may_not_see_is_refused_like_that_of_no_client(cast, neighbour, path):
    coach = cast.api(cast.coach)
    answers = [
        coach.get(f"/api/v1/{path}?client={client_id}") for client_id in (cast.carl.id, neighbour.anna.id, uuid4())
    ]
    assert [answer.status_code for answer in answers] == [400, 400, 400]
    assert {answer.json()["type"] for answer in answers} == {"/docs/problems/unknown_object"}
    assert len({answer.json()["detail"] for answer in answers}) == 1
    assert coach.get(f"/api/v1/{path}?client={cast.anna.id}").status_code == 200


def test_the_sets_of_a_session_that_one_may_not_see_are_refused_like_those_of_no_session(cast, neighbour, app):
    coach = cast.api(cast.coach)
    theirs = post(app, session_logs=[session(cast.carl)])["items"][0]["id"]
    next_door = post(neighbour.key("logs:write"), session_logs=[session(neighbour.anna)])["items"][0]["id"]
    answers = [coach.get(f"/api/v1/set-logs?session_log={one}") for one in (theirs, next_door, uuid4())]
    assert [(answer.status_code, answer.json()["type"]) for answer in answers] == [
        (400, "/docs/problems/unknown_object")
    ] * 3
    mine = post(app, session_logs=[session(cast.anna)], set_logs=[set_(cast.anna)])["items"][0]["id"]
    assert len(coach.get(f"/api/v1/set-logs?session_log={mine}").json()["items"]) == 1
