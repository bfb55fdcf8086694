"""The team."""

import threading
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection

from coaching.models import Client, Membership, Person
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.scenario import Cast, build_business, signed_in

PATH = "/api/v1/coaches"
NEW = {"email": "Dana@new.example", "name": "Dana", "role": "coach", "password": "correct horse 7 battery"}


def _add(cast: Cast, **changes: Any) -> Any:
    return cast.api(cast.owner).post(PATH, {**NEW, **changes}, format="json")


def _change(cast: Cast, member: Membership, **changes: Any) -> Any:
    return cast.api(cast.owner).patch(f"{PATH}/{member.id}", changes, format="json", HTTP_IF_MATCH="*")


def _remove(cast: Cast, member: Membership) -> Any:
    return cast.api(cast.owner).delete(f"{PATH}/{member.id}", HTTP_IF_MATCH="*")


def test_the_team_is_listed_without_clients(cast: Cast) -> None:
    listed = cast.api(cast.viewer).get(PATH).json()["items"]
    assert [item["name"] for item in listed] == ["Olga", "Hugo", "Cora", "Cato", "Vera"]
    heads = cast.api(cast.viewer).get(f"{PATH}?role=head_coach&state=active").json()["items"]
    assert [item["email"] for item in heads] == ["hugo@northern-iron.example"]
    assert cast.api(cast.owner).get(f"{PATH}/{cast.client_member.id}").status_code == 404


def test_a_coach_is_put_on_the_team_and_signs_in(cast: Cast) -> None:
    made = _add(cast)
    assert made.status_code == 201
    coach = made.json()
    assert (coach["email"], coach["role"], coach["time_zone"]) == ("dana@new.example", "coach", "Europe/Paris")
    assert made.headers["Location"] == f"{PATH}/{coach['id']}"
    assert "password" not in made.content.decode()
    sent = {"email": NEW["email"], "password": NEW["password"]}
    opened = signed_in("none").post("/api/v1/sessions", sent, format="json")
    assert signed_in(opened.json()["token"]).get("/api/v1/me").json()["coach"] == coach["id"]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"password": "short"}, "#/password"),
        ({"password": "password1234"}, "#/password"),
        ({"role": "client"}, "#/role"),
        ({"role": "god"}, "#/role"),
        ({"email": "a@b\r\nBcc: x@y.example"}, "#/email"),
        ({"time_zone": "CET/Paris"}, "#/time_zone"),
        ({"state": "left"}, "#/state"),
    ],
)
def test_a_coach_who_cannot_be_taken_is_refused_and_no_account_left(
    cast: Cast, changes: dict[str, Any], pointer: str
) -> None:
    answer = _add(cast, **changes)
    assert answer.status_code == 400
    assert {fault["pointer"] for fault in answer.json()["errors"]} == {pointer}
    assert not Person.objects.filter(email="dana@new.example").exists()


def test_an_account_that_another_business_made_is_not_joined_by_its_address(cast: Cast, neighbour: Cast) -> None:
    """Whoever set its first password could sign in here: that takes an invitation."""
    answer = _add(cast, email=neighbour.coach.person.email)
    assert (answer.status_code, answer.json()["code"]) == (409, "account_elsewhere")
    with business_scope(cast.business_id):
        assert not Membership.objects.filter(person=neighbour.coach.person).exists()


def test_someone_on_the_team_is_not_added_twice_and_someone_who_left_comes_back(cast: Cast) -> None:
    email = cast.viewer.person.email
    assert _add(cast, email=email).json()["code"] == "already_on_team"
    assert _remove(cast, cast.viewer).status_code == 204
    back = _add(cast, email=email, role="coach")
    assert back.status_code == 201
    assert (back.json()["id"], back.json()["state"], back.json()["role"]) == (str(cast.viewer.id), "active", "coach")
    # The password is the person's own: the one sent is not taken.
    cast.viewer.person.refresh_from_db()
    assert not cast.viewer.person.check_password(NEW["password"])


def test_a_change_of_role_ends_the_sessions(cast: Cast) -> None:
    api = cast.api(cast.viewer)
    assert _change(cast, cast.viewer, time_zone="America/Lima").status_code == 200
    assert api.get("/api/v1/me").status_code == 200
    assert _change(cast, cast.viewer, role="coach").json()["role"] == "coach"
    assert api.get("/api/v1/me").status_code == 401


def test_a_coach_with_clients_hands_them_over_before_leaving(cast: Cast) -> None:
    api = cast.api(cast.other_coach)
    refused = _remove(cast, cast.other_coach)
    assert (refused.status_code, refused.json()["code"]) == (409, "coach_has_clients")
    assert _change(cast, cast.other_coach, role="viewer").json()["code"] == "coach_has_clients"
    assert api.get("/api/v1/me").status_code == 200
    path = f"/api/v1/clients/{cast.carl.id}"
    handed = cast.api(cast.head).patch(path, {"coach": str(cast.coach.id)}, format="json", HTTP_IF_MATCH="*")
    assert handed.json()["coach"] == str(cast.coach.id)
    assert _remove(cast, cast.other_coach).status_code == 204
    assert api.get("/api/v1/me").status_code == 401


def test_clients_who_have_ended_keep_nobody(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.carl.id).update(state="ended")
    assert _remove(cast, cast.other_coach).status_code == 204


def test_a_business_keeps_an_owner(cast: Cast) -> None:
    assert _remove(cast, cast.owner).json()["code"] == "last_owner"
    assert _change(cast, cast.owner, role="viewer").json()["code"] == "last_owner"
    assert _change(cast, cast.head, role="owner").status_code == 200
    assert _remove(cast, cast.owner).status_code == 204


@pytest.mark.usefixtures("committed")
def test_two_owners_cannot_demote_each_other_at_once() -> None:
    cast = build_business("Two Owners")
    with business_scope(cast.business_id):
        Membership.objects.filter(id=cast.head.id).update(role="owner")
    for member in (cast.owner, cast.head):
        cast.api(member)
    start, statuses = threading.Barrier(2), []

    def demote(by: Membership, whom: Membership) -> None:
        api = signed_in(cast.tokens[by.id])
        start.wait()
        answer = api.patch(f"{PATH}/{whom.id}", {"role": "viewer"}, format="json", HTTP_IF_MATCH="*")
        statuses.append(answer.status_code)
        connection.close()

    threads = [
        threading.Thread(target=demote, args=pair) for pair in ((cast.owner, cast.head), (cast.head, cast.owner))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with business_scope(cast.business_id):
        assert Membership.objects.filter(role="owner", state="active").count() == 1
    assert statuses.count(200) == 1


@pytest.mark.usefixtures("committed")
def test_the_same_coach_added_twice_at_once_joins_once() -> None:
    cast = build_business("Twice At Once")
    cast.api(cast.owner)
    start, statuses = threading.Barrier(4), []

    def add() -> None:
        api = signed_in(cast.tokens[cast.owner.id])
        start.wait()
        statuses.append(api.post(PATH, NEW, format="json").status_code)
        connection.close()

    threads = [threading.Thread(target=add) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [201, 409, 409, 409]


@pytest.mark.usefixtures("committed")
def test_two_businesses_that_make_one_account_at_once_get_one_refused() -> None:
    casts = [build_business(name) for name in ("First Gym", "Second Gym")]
    for cast in casts:
        cast.api(cast.owner)
    start, statuses = threading.Barrier(2), []

    def add(cast: Cast) -> None:
        api = signed_in(cast.tokens[cast.owner.id])
        start.wait()
        statuses.append(api.post(PATH, NEW, format="json").status_code)
        connection.close()

    threads = [threading.Thread(target=add, args=[cast]) for cast in casts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [201, 409]


def test_a_neighbours_coach_is_not_there(cast: Cast, neighbour: Cast) -> None:
    for member_id in (neighbour.coach.id, uuid4()):
        assert cast.api(cast.owner).get(f"{PATH}/{member_id}").status_code == 404
        changed = cast.api(cast.owner).patch(
            f"{PATH}/{member_id}", {"role": "viewer"}, format="json", HTTP_IF_MATCH="*"
        )
        assert changed.status_code == 404


def test_the_list_costs_the_same_for_one_and_for_fifty(cast: Cast) -> None:
    api = cast.api(cast.owner)
    few = statements_of(api, f"{PATH}?limit=1")
    with business_scope(cast.business_id):
        for number in range(50):
            person = Person.objects.create(email=f"p{number}@more.example", name="P", password="!")
            Membership.objects.create(person=person, role="viewer", time_zone="UTC")
    assert statements_of(api, f"{PATH}?limit=50") == few
    assert len(api.get(f"{PATH}?limit=50").json()["items"]) == 50
