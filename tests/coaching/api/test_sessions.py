"""Signing in and out."""

import time
from typing import Any
from uuid import uuid4

import pytest
from rest_framework.test import APIClient

from coaching.actions.businesses import create_business
from coaching.models import Membership, Person, SessionToken
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.scenario import Cast, signed_in

PASSWORD = "correct horse 7 battery"
PATH = "/api/v1/sessions"


@pytest.fixture
def coach(cast: Cast) -> Cast:
    """The cast, its coach with a password."""
    cast.coach.person.set_password(PASSWORD)
    cast.coach.person.save()
    return cast


def _sign_in(email: str, password: str = PASSWORD, **more: Any) -> Any:
    return APIClient().post(PATH, {"email": email, "password": password, **more}, format="json")


def test_signing_in_shows_a_token_once_and_it_works(coach: Cast) -> None:
    answer = _sign_in("Cora@northern-iron.EXAMPLE")
    assert answer.status_code == 201
    opened = answer.json()
    assert (opened["role"], opened["business"]) == ("coach", {"id": str(coach.business_id), "name": "Northern Iron"})
    api = signed_in(opened["token"])
    me = api.get("/api/v1/me").json()
    assert (me["kind"], me["credential"], me["coach"]) == ("person", opened["id"], str(coach.coach.id))
    assert me["person"]["email"] == "cora@northern-iron.example"
    assert "clients.create" in me["operations"]
    assert "api_keys.create" not in me["operations"]
    listed = api.get(PATH).json()["items"]
    assert [(item["id"], item["current"]) for item in listed] == [(opened["id"], True)]
    assert opened["token"][:15] not in api.get(PATH).content.decode()


def test_a_stale_credential_does_not_stand_in_the_way_of_signing_in(coach: Cast) -> None:
    sent = {"email": coach.coach.person.email, "password": PASSWORD}
    assert signed_in("stale").post(PATH, sent, format="json").status_code == 201


@pytest.mark.parametrize(
    ("email", "password"),
    [("cora@northern-iron.example", "wrong"), ("nobody@northern-iron.example", PASSWORD), ("not an address", PASSWORD)],
)
def test_a_wrong_address_and_a_wrong_password_are_answered_alike(coach: Cast, email: str, password: str) -> None:
    answer = _sign_in(email, password)
    document = answer.json()
    assert (answer.status_code, document["detail"]) == (401, "The email address or the password is wrong.")
    assert document["errors"] == []


def test_an_unknown_address_costs_a_password_check_too(coach: Cast) -> None:
    """CPU time, so that a busy machine tells nothing; hashing is nearly all of it, or nearly none."""

    def spent_s(email: str) -> float:
        start = time.process_time()
        _sign_in(email, "wrong")
        return time.process_time() - start

    _sign_in("warm@up.example")
    known, unknown = min(spent_s(coach.coach.person.email) for _ in range(3)), spent_s("no@one.example")
    assert unknown > known / 2


def test_a_person_in_several_businesses_names_one(coach: Cast, neighbour: Cast) -> None:
    email = coach.coach.person.email
    with business_scope(neighbour.business_id):
        Membership.objects.create(person=coach.coach.person, role="viewer", time_zone="UTC")
    asked = _sign_in(email)
    assert (asked.status_code, asked.json()["code"]) == (409, "choose_business")
    assert [place["name"] for place in asked.json()["businesses"]] == ["Harbour Strength", "Northern Iron"]
    for place in asked.json()["businesses"]:
        opened = _sign_in(email, business=place["id"])
        assert opened.json()["business"] == place
    assert _sign_in(email, business=str(uuid4())).status_code == 401
    # Without the password, nothing is told of the businesses.
    assert "businesses" not in _sign_in(email, "wrong").json()


def test_someone_who_left_every_business_is_not_let_in(coach: Cast) -> None:
    with business_scope(coach.business_id):
        Membership.objects.filter(id=coach.coach.id).update(state="left")
    assert _sign_in(coach.coach.person.email).status_code == 401


def test_a_session_ended_is_refused_at_once(coach: Cast) -> None:
    opened = _sign_in(coach.coach.person.email).json()
    other = _sign_in(coach.coach.person.email).json()
    api = signed_in(opened["token"])
    assert api.delete(f"{PATH}/{other['id']}").status_code == 204
    assert signed_in(other["token"]).get("/api/v1/me").status_code == 401
    assert api.delete(f"{PATH}/{opened['id']}").status_code == 204
    assert api.get("/api/v1/me").status_code == 401


def test_nobody_ends_or_lists_anothers_session(coach: Cast) -> None:
    opened = _sign_in(coach.coach.person.email).json()
    owner = coach.api(coach.owner)
    assert owner.delete(f"{PATH}/{opened['id']}").status_code == 404
    assert opened["id"] not in owner.get(PATH).content.decode()
    assert signed_in(opened["token"]).get("/api/v1/me").status_code == 200


def test_the_list_of_sessions_costs_the_same_for_one_and_for_fifty(coach: Cast) -> None:
    api = coach.api(coach.coach)
    one = statements_of(api, PATH)
    for _ in range(49):
        SessionToken.objects.create(
            user=coach.coach.person, business_id=coach.business_id, membership_id=coach.coach.id
        )
    assert statements_of(api, PATH) == one
    assert len(api.get(PATH).json()["items"]) == 50


def test_an_account_made_with_a_business_signs_in(db: None) -> None:
    created = create_business(
        name="Quarry Gym",
        time_zone="Asia/Kathmandu",
        owner_email="Rita@quarry.example",
        owner_name="Rita",
        owner_password=PASSWORD,
    )
    assert created.owner_is_new
    opened = _sign_in("rita@quarry.example").json()
    assert (opened["role"], opened["business"]["id"]) == ("owner", str(created.business_id))
    assert Person.objects.get(email="rita@quarry.example").password.startswith("argon2")
