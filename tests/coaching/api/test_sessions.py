"""Signing in and out."""

import time
from collections.abc import Iterator
from datetime import timedelta
from threading import Barrier, Thread
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connections
from django.utils import timezone
from rest_framework.test import APIClient

from coaching.actions.businesses import create_business
from coaching.actions.expiry import purge_expired_answers
from coaching.actions.sessions import IDLE_FOR, LONGEST, MOST_OF_A_PERSON, note_session_use
from coaching.models import Membership, Person, SessionToken
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.scenario import NOON, Cast, build_business, signed_in

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
        now=timezone.now(),
    )
    assert created.owner_is_new
    opened = _sign_in("rita@quarry.example").json()
    assert (opened["role"], opened["business"]["id"]) == ("owner", str(created.business_id))
    assert Person.objects.get(email="rita@quarry.example").password.startswith("argon2")


@pytest.fixture
def clock() -> Iterator[Any]:
    """A clock that stands still until it is moved."""
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


def test_a_session_that_is_not_used_for_twelve_hours_has_ended(clock: Any, coach: Cast) -> None:
    opened = _sign_in(coach.coach.person.email).json()
    assert opened["expires_at"] == "2031-03-06T00:00:00+00:00"
    api = signed_in(opened["token"])
    clock.shift(IDLE_FOR - timedelta(seconds=1))
    assert api.get("/api/v1/me").status_code == 200
    # Its use put the end off.
    clock.shift(IDLE_FOR - timedelta(seconds=1))
    assert api.get("/api/v1/me").status_code == 200
    clock.shift(IDLE_FOR + timedelta(seconds=1))
    assert api.get("/api/v1/me").status_code == 401


def test_a_session_ends_after_fourteen_days_however_much_it_is_used(clock: Any, coach: Cast) -> None:
    api = signed_in(_sign_in(coach.coach.person.email).json()["token"])
    statuses = []
    for _ in range(30):
        clock.shift(IDLE_FOR - timedelta(seconds=1))
        statuses.append(api.get("/api/v1/me").status_code)
    good = statuses.index(401)
    assert set(statuses[good:]) == {401}
    assert good == LONGEST // (IDLE_FOR - timedelta(seconds=1))


def test_a_rotation_keeps_the_end_of_the_longest_time(clock: Any, coach: Cast) -> None:
    token = _sign_in(coach.coach.person.email).json()["token"]
    used = timedelta()
    while used + IDLE_FOR < LONGEST:
        clock.shift(IDLE_FOR - timedelta(hours=1))
        used += IDLE_FOR - timedelta(hours=1)
        token = signed_in(token).post(f"{PATH}/rotate").json()["token"]
    clock.shift(LONGEST - used + timedelta(seconds=1))
    assert signed_in(token).get("/api/v1/me").status_code == 401


def test_a_use_is_written_down_once_in_ten_minutes_with_its_address(clock: Any, coach: Cast) -> None:
    api = signed_in(_sign_in(coach.coach.person.email).json()["token"])

    def listed(address: str) -> dict[str, Any]:
        (item,) = api.get(PATH, REMOTE_ADDR=address).json()["items"]
        return {name: item[name] for name in ("last_used_at", "address", "created_at")}

    opened = {"last_used_at": "2031-03-05T12:00:00+00:00", "address": "127.0.0.1"}
    clock.shift(timedelta(minutes=9))
    assert listed("192.0.2.8") == {**opened, "created_at": "2031-03-05T12:00:00+00:00"}
    clock.shift(timedelta(minutes=1))
    assert listed("192.0.2.8") == {
        "last_used_at": "2031-03-05T12:10:00+00:00",
        "address": "192.0.2.8",
        "created_at": "2031-03-05T12:00:00+00:00",
    }


def test_sessions_that_have_ended_are_not_listed(clock: Any, coach: Cast) -> None:
    _sign_in(coach.coach.person.email)
    clock.shift(IDLE_FOR + timedelta(minutes=1))
    opened = _sign_in(coach.coach.person.email).json()
    items = signed_in(opened["token"]).get(PATH).json()["items"]
    assert [item["id"] for item in items] == [opened["id"]]


def test_a_rotation_exchanges_the_token_at_once_and_keeps_the_session(coach: Cast) -> None:
    opened = _sign_in(coach.coach.person.email).json()
    rotated = signed_in(opened["token"]).post(f"{PATH}/rotate")
    assert (rotated.status_code, rotated.json()["id"]) == (200, opened["id"])
    assert signed_in(opened["token"]).get("/api/v1/me").status_code == 401
    assert signed_in(opened["token"]).post(f"{PATH}/rotate").status_code == 401
    api = signed_in(rotated.json()["token"])
    assert [(item["id"], item["current"]) for item in api.get(PATH).json()["items"]] == [(opened["id"], True)]
    assert api.delete(f"{PATH}/{opened['id']}").status_code == 204
    assert api.get("/api/v1/me").status_code == 401


def test_a_key_has_nothing_to_rotate(coach: Cast) -> None:
    assert coach.key("logs:read").post(f"{PATH}/rotate").status_code == 403


def test_of_many_who_rotate_one_token_at_once_one_does(committed: None) -> None:
    cast = build_business("Northern Iron")
    cast.api(cast.coach)
    token, at_once, seen = cast.tokens[cast.coach.id], Barrier(6), []

    def rotate() -> None:
        at_once.wait()
        try:
            seen.append(signed_in(token).post(f"{PATH}/rotate"))
        finally:
            connections.close_all()

    threads = [Thread(target=rotate) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answer.status_code for answer in seen) == [200] + [401] * 5
    (token,) = [answer.json()["token"] for answer in seen if answer.status_code == 200]
    assert signed_in(token).get("/api/v1/me").status_code == 200


def test_all_other_sessions_end_at_once_and_nobody_elses(coach: Cast) -> None:
    tokens = [_sign_in(coach.coach.person.email).json()["token"] for _ in range(3)]
    owner = coach.api(coach.owner)
    assert signed_in(tokens[1]).delete(PATH).status_code == 204
    assert [signed_in(token).get("/api/v1/me").status_code for token in tokens] == [401, 200, 401]
    assert owner.get("/api/v1/me").status_code == 200


def test_an_account_that_is_deactivated_and_a_membership_that_was_left_are_refused_at_once(coach: Cast) -> None:
    api, other = coach.api(coach.coach), coach.api(coach.other_coach)
    assert (api.get("/api/v1/me").status_code, other.get("/api/v1/me").status_code) == (200, 200)
    Person.objects.filter(id=coach.coach.person_id).update(is_active=False)
    assert api.get("/api/v1/me").status_code == 401
    with business_scope(coach.business_id):
        Membership.objects.filter(id=coach.other_coach.id).update(state="left")
    assert other.get("/api/v1/me").status_code == 401


def test_a_use_does_not_revive_a_session_that_was_ended_meanwhile(clock: Any, coach: Cast) -> None:
    row, _token = SessionToken.objects.create(
        user=coach.coach.person, business_id=coach.business_id, membership_id=coach.coach.id
    )
    SessionToken.objects.filter(digest=row.digest).delete()
    note_session_use(token=row, address="192.0.2.8", now=NOON + timedelta(hours=1))
    assert not SessionToken.objects.filter(user=coach.coach.person).exists()


def test_one_session_too_many_ends_the_oldest_and_the_night_deletes_what_has_ended(clock: Any, coach: Cast) -> None:
    first = _sign_in(coach.coach.person.email).json()["token"]
    for _ in range(MOST_OF_A_PERSON - 1):
        clock.shift(timedelta(seconds=1))
        SessionToken.objects.create(
            user=coach.coach.person, business_id=coach.business_id, membership_id=coach.coach.id
        )
    assert signed_in(first).get("/api/v1/me").status_code == 200
    clock.shift(timedelta(seconds=1))
    last = _sign_in(coach.coach.person.email).json()["token"]
    assert [signed_in(token).get("/api/v1/me").status_code for token in (first, last)] == [401, 200]
    purge_expired_answers(coach.business_id, NOON + IDLE_FOR + timedelta(hours=1))
    assert not SessionToken.objects.filter(user=coach.coach.person).exists()
