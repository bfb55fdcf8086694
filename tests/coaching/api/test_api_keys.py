"""Keys of programs."""

from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.models import ApiKey
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.scenario import NOON, Cast, signed_in

PATH = "/api/v1/api-keys"
NEW = {"name": "Floor app", "scopes": ["logs:write", "clients:read"], "source": "gym-floor-app"}


def _make(cast: Cast, **changes: Any) -> Any:
    return cast.api(cast.owner).post(PATH, {**NEW, **changes}, format="json")


def test_a_key_is_shown_once_and_works(cast: Cast) -> None:
    made = _make(cast, client_ids=[str(cast.ben.id)])
    assert made.status_code == 201
    key = made.json()
    assert key["key"].startswith(f"cp_{key['prefix']}_")
    assert len(key["key"]) == len("cp_") + 8 + 1 + 43
    assert (key["scopes"], key["source"]) == (["clients:read", "logs:write"], "gym-floor-app")
    listed = cast.api(cast.owner).get(PATH)
    assert key["key"].split("_", 2)[2] not in listed.content.decode()
    assert listed.json()["items"][0]["prefix"] == key["prefix"]
    api = signed_in(key["key"])
    assert [item["name"] for item in api.get("/api/v1/clients").json()["items"]] == ["Ben"]
    assert api.get(f"/api/v1/clients/{cast.anna.id}").status_code == 404
    assert api.get("/api/v1/business").status_code == 403


def test_a_revoked_key_is_refused_at_once_and_stays_listed(cast: Cast) -> None:
    key = _make(cast).json()
    owner = cast.api(cast.owner)
    assert owner.delete(f"{PATH}/{key['id']}").status_code == 204
    assert signed_in(key["key"]).get("/api/v1/me").status_code == 401
    revoked_at = owner.get(PATH).json()["items"][0]["revoked_at"]
    assert revoked_at
    assert owner.delete(f"{PATH}/{key['id']}").status_code == 204
    assert owner.get(PATH).json()["items"][0]["revoked_at"] == revoked_at


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"scopes": []}, "#/scopes"),
        ({"scopes": ["logs:write", "all"]}, "#/scopes/1"),
        ({"source": "Not A Word"}, "#/source"),
        ({"expires_at": "2031-03-05T11:00:00Z"}, "#/expires_at"),
        ({"client_ids": [str(uuid4())]}, "#/client_ids/0"),
        ({"client_ids": []}, "#/client_ids"),
        ({"prefix": "mine"}, "#/prefix"),
        ({"name": ""}, "#/name"),
    ],
)
def test_a_key_that_cannot_be_made_is_refused(cast: Cast, changes: dict[str, Any], pointer: str) -> None:
    with time_machine.travel(NOON, tick=False):
        answer = _make(cast, **changes)
    assert answer.status_code == 400
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}
    with business_scope(cast.business_id):
        assert ApiKey.objects.count() == 0


def test_a_key_that_writes_logs_needs_a_source(cast: Cast) -> None:
    sent = {name: value for name, value in NEW.items() if name != "source"}
    answer = cast.api(cast.owner).post(PATH, sent, format="json")
    assert answer.json()["errors"][0]["pointer"] == "#/source"


def test_a_neighbours_client_cannot_narrow_a_key(cast: Cast, neighbour: Cast) -> None:
    answer = _make(cast, client_ids=[str(cast.anna.id), str(neighbour.anna.id)])
    assert answer.json()["code"] == "unknown_object"
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["#/client_ids/1"]


def test_a_neighbours_key_is_not_there(cast: Cast, neighbour: Cast) -> None:
    key = _make(neighbour).json()
    assert cast.api(cast.owner).delete(f"{PATH}/{key['id']}").status_code == 404
    assert signed_in(key["key"]).get("/api/v1/me").status_code == 200


def test_only_owners_deal_with_keys(cast: Cast) -> None:
    key = _make(cast).json()
    for member in (cast.head, cast.coach, cast.viewer, cast.client_member):
        api = cast.api(member)
        assert api.get(PATH).status_code == 403
        assert api.post(PATH, NEW, format="json").status_code == 403
        assert api.delete(f"{PATH}/{key['id']}").status_code == 403
    assert signed_in(key["key"]).post(PATH, NEW, format="json").status_code == 403


def test_the_list_costs_the_same_for_one_and_for_fifty(cast: Cast) -> None:
    _make(cast)
    api = cast.api(cast.owner)
    few = statements_of(api, PATH)
    for _ in range(49):
        cast.key("logs:read")
    assert statements_of(api, PATH) == few
    assert len(api.get(PATH).json()["items"]) == 50
