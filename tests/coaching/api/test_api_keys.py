"""Keys of programs."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.models import ApiKey, AuditEntry
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


def _rotate(cast: Cast, key: dict[str, Any], **body: Any) -> Any:
    return cast.api(cast.owner).post(f"{PATH}/{key['id']}/rotate", body, format="json")


def _status(secret: str) -> int:
    return int(signed_in(secret).get("/api/v1/me").status_code)


def test_a_rotated_key_is_the_same_key_with_both_secrets_good_until_the_overlap_ends(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        old = _make(cast, client_ids=[str(cast.ben.id)]).json()
        assert _status(old["key"]) == 200
        clock.shift(timedelta(hours=1))
        answer = _rotate(cast, old, overlap_h=48)
        assert answer.status_code == 200, answer.content
        new = answer.json()
        same = ("id", "name", "prefix", "scopes", "source", "client_ids", "created_at")
        assert {name: new[name] for name in same} == {name: old[name] for name in same}
        assert new["key"] != old["key"]
        shown = {"last_used_at": None, "previous_ends_at": "2031-03-07T13:00:00+00:00"}
        shown |= {"previous_last_used_at": "2031-03-05T12:00:00+00:00", "rotated_at": "2031-03-05T13:00:00+00:00"}
        assert {name: new[name] for name in shown} == shown
        clock.shift(timedelta(hours=2))
        for secret in (old["key"], new["key"]):
            assert signed_in(secret).get("/api/v1/me").json()["credential"] == old["id"]
        listed = cast.api(cast.owner).get(PATH)
        (item,) = listed.json()["items"]
        assert item["last_used_at"] == item["previous_last_used_at"] == "2031-03-05T15:00:00+00:00"
        assert not [part for part in (old["key"][12:], new["key"][12:]) if part in listed.content.decode()]
        clock.move_to(NOON + timedelta(hours=49))
        assert (_status(old["key"]), _status(new["key"])) == (401, 200)


def test_a_second_rotation_ends_the_first_secret_at_once(cast: Cast) -> None:
    first = _make(cast).json()
    second = _rotate(cast, first).json()
    third = _rotate(cast, first, overlap_h=1).json()
    assert [_status(made["key"]) for made in (first, second, third)] == [401, 200, 200]
    fourth = _rotate(cast, first, overlap_h=0).json()
    assert [_status(made["key"]) for made in (third, fourth)] == [401, 200]


def test_revoking_ends_both_secrets_and_an_ended_key_is_not_rotated(cast: Cast) -> None:
    old = _make(cast).json()
    new = _rotate(cast, old).json()
    assert cast.api(cast.owner).delete(f"{PATH}/{old['id']}").status_code == 204
    assert (_status(old["key"]), _status(new["key"])) == (401, 401)
    refused = _rotate(cast, old)
    assert (refused.status_code, refused.json()["code"]) == (409, "key_ended")


def test_the_old_secret_never_outlives_its_own_expiry(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        old = _make(cast, expires_at="2031-03-05T14:00:00Z").json()
        new = _rotate(cast, old, overlap_h=24, expires_at="2031-06-05T14:00:00Z").json()
        assert new["previous_ends_at"] == "2031-03-05T14:00:00+00:00"
        clock.shift(timedelta(hours=2))
        assert (_status(old["key"]), _status(new["key"])) == (401, 200)
        assert _rotate(cast, old, expires_at="2031-03-05T14:00:00Z").status_code == 400


@pytest.mark.parametrize(
    ("body", "pointer"),
    [({"overlap_h": 169}, "#/overlap_h"), ({"overlap_h": -1}, "#/overlap_h"), ({"scopes": []}, "#/scopes")],
)
def test_a_rotation_changes_nothing_else(cast: Cast, body: dict[str, Any], pointer: str) -> None:
    key = _make(cast).json()
    answer = _rotate(cast, key, **body)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)
    assert _status(key["key"]) == 200


def test_a_rotation_is_written_down_and_nobody_elses(cast: Cast, neighbour: Cast) -> None:
    key = _make(cast).json()
    assert _rotate(neighbour, key).status_code == 404
    assert cast.api(cast.head).post(f"{PATH}/{key['id']}/rotate", {}, format="json").status_code == 403
    _rotate(cast, key, overlap_h=5)
    entry = cast.api(cast.owner).get("/api/v1/audit-entries").json()["items"][0]
    assert (entry["operation"], entry["object_id"]) == ("api_keys.rotate", key["id"])
    assert entry["values"] == {"overlap_h": 5}


def test_no_secret_stands_in_the_database(cast: Cast) -> None:
    old = _make(cast).json()
    new = _rotate(cast, old).json()
    with business_scope(cast.business_id):
        kept = str(list(ApiKey.objects.values())) + str(list(AuditEntry.objects.values()))
    assert not [secret for secret in (old["key"], new["key"]) if secret[12:] in kept]


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
