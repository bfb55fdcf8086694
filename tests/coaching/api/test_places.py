"""`/clients/{id}/places`."""

from typing import Any
from uuid import uuid4

import pytest

from coaching.models import Place
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.scenario import Cast

GARAGE = {
    "name": "Garage",
    "kind": "home",
    "equipment": ["plates", "barbell"],
    "load_steps": [{"loading": "barbell", "step_kg": 2.5}, {"loading": "dumbbell", "step_lb": 5}],
}


def path(cast: Cast, *, of: Any = None) -> str:
    return f"/api/v1/clients/{of or cast.anna.id}/places"


def made(cast: Cast, **more: Any) -> Any:
    return cast.api(cast.coach).post(path(cast), GARAGE | more, format="json")


def test_a_place_is_written_down_read_changed_and_removed(cast: Cast) -> None:
    answer = made(cast)
    assert answer.status_code == 201, answer.content
    place = answer.json()
    assert answer.headers["Location"] == f"{path(cast)}/{place['id']}"
    assert (place["client"], place["kind"], place["equipment"]) == (str(cast.anna.id), "home", ["barbell", "plates"])
    assert place["load_steps"] == [
        {"loading": "barbell", "step_kg": 2.5, "step_lb": None},
        {"loading": "dumbbell", "step_kg": None, "step_lb": 5},
    ]
    api, own = cast.api(cast.coach), f"{path(cast)}/{place['id']}"
    changed = api.patch(own, {"equipment": []}, format="json", HTTP_IF_MATCH=answer.headers["ETag"])
    assert (changed.json()["equipment"], changed.json()["name"]) == ([], "Garage")
    assert api.get(own).json() == changed.json()
    assert api.delete(own, HTTP_IF_MATCH=answer.headers["ETag"]).status_code == 412
    assert api.delete(own, HTTP_IF_MATCH=changed.headers["ETag"]).status_code == 204
    assert api.get(own).status_code == 404


def test_a_client_writes_down_their_own_places_and_no_others(cast: Cast) -> None:
    api = cast.api(cast.client_member)
    assert api.post(path(cast), GARAGE, format="json").status_code == 201
    assert [place["name"] for place in api.get(path(cast)).json()["items"]] == ["Garage"]
    assert api.post(path(cast, of=cast.ben.id), GARAGE, format="json").status_code == 404


def test_places_of_one_client_have_names_of_their_own(cast: Cast) -> None:
    garage = made(cast).json()
    assert (made(cast).status_code, made(cast).json()["code"]) == (409, "place_name_taken")
    cabin = made(cast, name="Cabin")
    api, own = cast.api(cast.coach), f"{path(cast)}/{cabin.json()['id']}"
    taken = api.patch(own, {"name": "Garage"}, format="json", HTTP_IF_MATCH=cabin.headers["ETag"])
    assert (taken.status_code, taken.json()["code"]) == (409, "place_name_taken")
    same = api.patch(f"{path(cast)}/{garage['id']}", {"name": "Garage"}, format="json", HTTP_IF_MATCH="*")
    assert same.status_code == 200


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"kind": "beach"}, "#/kind"),
        ({"name": ""}, "#/name"),
        ({"equipment": ["barbel"]}, "#/equipment/0"),
        ({"load_steps": [{"loading": "barbel", "step_kg": 1}]}, "#/load_steps/0/loading"),
        ({"load_steps": [{"loading": "barbell"}]}, "#/load_steps/0/step_kg"),
        ({"load_steps": [{"loading": "barbell", "step_kg": 1, "step_lb": 2}]}, "#/load_steps/0/step_kg"),
        ({"load_steps": [{"loading": "barbell", "step_kg": 0}]}, "#/load_steps/0/step_kg"),
        ({"load_steps": [{"loading": "stack", "step_kg": 1}, {"loading": "stack", "step_kg": 2}]}, "#/load_steps"),
        ({"equipement": []}, "#/equipement"),
    ],
)
def test_a_bad_place_is_refused_at_its_place(cast: Cast, change: dict[str, Any], pointer: str) -> None:
    answer = made(cast, **change)
    assert answer.status_code == 400
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}


def test_a_strangers_place_is_not_there(cast: Cast, neighbour: Cast) -> None:
    place = made(cast).json()["id"]
    for api, of in (
        (cast.api(cast.other_coach), cast.anna.id),
        (neighbour.api(neighbour.owner), cast.anna.id),
        (cast.api(cast.coach), cast.ben.id),
    ):
        own = f"{path(cast, of=of)}/{place}"
        assert api.get(own).status_code == 404
        assert api.patch(own, {"name": "Mine"}, format="json", HTTP_IF_MATCH="*").status_code == 404
        assert api.delete(own, HTTP_IF_MATCH="*").status_code == 404
    assert neighbour.api(neighbour.owner).get(path(cast)).status_code == 404
    assert cast.api(cast.coach).get(f"{path(cast)}/{uuid4()}").status_code == 404


def test_viewers_and_keys_read_only(cast: Cast) -> None:
    for api in (cast.api(cast.viewer), cast.key("clients:read")):
        assert api.post(path(cast), GARAGE, format="json").status_code == 403
    assert cast.key("clients:read").get(path(cast)).status_code == 200
    assert cast.key("logs:write").get(path(cast)).status_code == 403


def test_fifty_places_are_listed_in_as_many_statements_as_one(cast: Cast) -> None:
    with business_scope(cast.business_id):
        for number in range(50):
            Place.objects.create(client=cast.anna, name=f"Place {number:02}", kind="other")
    api = cast.api(cast.coach)
    assert statements_of(api, f"{path(cast)}?limit=1") == statements_of(api, f"{path(cast)}?limit=50")
