"""Viewers: who lets them see a client, and when they no longer do."""

import threading
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection

from coaching.models import Client, Membership
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast, build_business, signed_in

PATH = "/api/v1/clients"


def _let_view(cast: Cast, client: Client, *viewers: Any, by: Membership | None = None) -> Any:
    return cast.api(by or cast.coach).patch(
        f"{PATH}/{client.id}", {"viewers": [str(viewer) for viewer in viewers]}, format="json", HTTP_IF_MATCH="*"
    )


def _seen_by(cast: Cast, member: Membership) -> list[str]:
    return [item["name"] for item in cast.api(member).get(PATH).json()["items"]]


def _viewers_of(cast: Cast, client: Client) -> list[UUID]:
    with business_scope(cast.business_id):
        return Client.objects.get(id=client.id).viewers


def test_a_viewer_sees_the_clients_that_a_coach_lets_them_see_and_changes_none(cast: Cast) -> None:
    assert _seen_by(cast, cast.viewer) == []
    answer = _let_view(cast, cast.ben, cast.viewer.id, cast.viewer.id)
    assert (answer.status_code, answer.json()["viewers"]) == (200, [str(cast.viewer.id)])
    assert _seen_by(cast, cast.viewer) == ["Ben"]
    viewer = cast.api(cast.viewer)
    assert viewer.get(f"{PATH}/{cast.ben.id}").json()["name"] == "Ben"
    assert viewer.get(f"{PATH}/{cast.anna.id}").status_code == 404
    assert _let_view(cast, cast.ben, by=cast.viewer).status_code == 403
    assert _let_view(cast, cast.ben).json()["viewers"] == []
    assert _seen_by(cast, cast.viewer) == []


def test_a_client_is_taken_on_with_viewers(cast: Cast) -> None:
    body = {"name": "Dora", "viewers": [str(cast.viewer.id)]}
    made = cast.api(cast.coach).post(PATH, body, format="json")
    assert (made.status_code, made.json()["viewers"]) == (201, [str(cast.viewer.id)])
    assert _seen_by(cast, cast.viewer) == ["Dora"]


def test_a_coach_lets_nobody_see_another_coachs_client(cast: Cast) -> None:
    assert _let_view(cast, cast.carl, cast.viewer.id).status_code == 404
    assert _let_view(cast, cast.carl, cast.viewer.id, by=cast.head).status_code == 200
    assert _seen_by(cast, cast.viewer) == ["Carl"]


def test_someone_who_is_no_active_viewer_of_the_business_is_unknown(cast: Cast, neighbour: Cast) -> None:
    for other in (neighbour.viewer.id, cast.coach.id, cast.client_member.id, uuid4()):
        made = cast.api(cast.coach).post(PATH, {"name": "Dora", "viewers": [str(other)]}, format="json")
        for answer in (made, _let_view(cast, cast.ben, cast.viewer.id, other)):
            assert (answer.status_code, answer.json()["code"]) == (400, "unknown_object")
        assert [fault["pointer"] for fault in answer.json()["errors"]] == ["#/viewers/1"]
    assert _viewers_of(cast, cast.ben) == []


@pytest.mark.parametrize("left", ["leaves", "becomes_coach"])
def test_a_viewer_who_is_none_any_more_sees_nobody_even_when_they_come_back(cast: Cast, left: str) -> None:
    _let_view(cast, cast.anna, cast.viewer.id)
    before = _let_view(cast, cast.ben, cast.viewer.id).json()["row_version"]
    owner, path = cast.api(cast.owner), f"/api/v1/coaches/{cast.viewer.id}"
    if left == "leaves":
        assert owner.delete(path, HTTP_IF_MATCH="*").status_code == 204
    else:
        assert owner.patch(path, {"role": "coach"}, format="json", HTTP_IF_MATCH="*").status_code == 200
    assert _viewers_of(cast, cast.anna) == _viewers_of(cast, cast.ben) == []
    assert owner.get(f"{PATH}/{cast.ben.id}").json()["row_version"] == before + 1
    if left == "leaves":
        again = {"email": cast.viewer.person.email, "name": "Vera", "role": "viewer"}
        assert owner.post("/api/v1/coaches", again, format="json").status_code == 201
    else:
        assert owner.patch(path, {"role": "viewer"}, format="json", HTTP_IF_MATCH="*").status_code == 200
    cast.tokens.pop(cast.viewer.id, None)
    assert _seen_by(cast, cast.viewer) == []


@pytest.mark.usefixtures("committed")
def test_a_viewer_who_leaves_while_they_are_named_stays_on_no_client() -> None:
    cast = build_business("One Viewer")
    for member in (cast.owner, cast.coach):
        cast.api(member)
    start, statuses = threading.Barrier(2), {}

    def leave() -> None:
        start.wait()
        answer = signed_in(cast.tokens[cast.owner.id]).delete(f"/api/v1/coaches/{cast.viewer.id}", HTTP_IF_MATCH="*")
        statuses["left"] = answer.status_code
        connection.close()

    def name() -> None:
        start.wait()
        statuses["named"] = _let_view(cast, cast.ben, cast.viewer.id).status_code
        connection.close()

    threads = [threading.Thread(target=job) for job in (leave, name)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert statuses["left"] == 204
    assert statuses["named"] in {200, 400}
    assert _viewers_of(cast, cast.ben) == []
