"""Changing one's own password."""

from typing import Any

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from coaching.actions.outbox import deliver_due_messages
from coaching.actions.sign_in_attempts import PER_ACCOUNT_AND_ADDRESS
from coaching.actions.signed_links import Named, Purpose, sign_token
from coaching.models import Membership, PasswordReset, Person, SessionToken
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast, signed_in
from tests.smtp_server import SmtpSink

PATH = "/api/v1/me/password"
OLD, NEW = "correct horse 7 battery", "kettle over granite 7"
LONG = "four small boats and a heron " * 4 + "at low water"


@pytest.fixture
def coach(cast: Cast) -> Cast:
    """The cast, its coach with a password."""
    cast.coach.person.set_password(OLD)
    cast.coach.person.save()
    return cast


def _change(api: APIClient, current: str = OLD, new: str = NEW, **more: Any) -> Any:
    return api.post(PATH, {"current": current, "new": new, **more}, format="json")


def _sign_in(cast: Cast, password: str) -> Any:
    sent = {"email": cast.coach.person.email, "password": password}
    return APIClient().post("/api/v1/sessions", sent, format="json")


def test_a_changed_password_ends_every_other_session_in_every_business(
    coach: Cast, neighbour: Cast, smtp: SmtpSink
) -> None:
    with business_scope(neighbour.business_id):
        elsewhere = Membership.objects.create(person=coach.coach.person, role="viewer", time_zone="UTC")
    _row, token = SessionToken.objects.create(
        user=coach.coach.person, business_id=neighbour.business_id, membership_id=elsewhere.id
    )
    _row, other = SessionToken.objects.create(
        user=coach.coach.person, business_id=coach.business_id, membership_id=coach.coach.id
    )
    api = coach.api(coach.coach)
    answer = _change(api)
    assert (answer.status_code, answer.content) == (204, b"")
    assert api.get("/api/v1/me").status_code == 200
    assert [signed_in(gone).get("/api/v1/me").status_code for gone in (token, other)] == [401, 401]
    assert coach.api(coach.owner).get("/api/v1/me").status_code == 200
    coach.coach.person.refresh_from_db()
    assert coach.coach.person.check_password(NEW)
    entry = coach.api(coach.owner).get("/api/v1/audit-entries").json()["items"][0]
    assert (entry["operation"], entry["values"], entry["fields"]) == ("passwords.change", {}, ["current", "new"])
    while deliver_due_messages(coach.business_id, timezone.now()):
        pass
    assert [(letter.to, letter.subject) for letter in smtp.letters] == [
        (coach.coach.person.email, "Your password was changed")
    ]


@pytest.mark.parametrize(
    ("current", "new", "pointer"),
    [
        ("wrong", NEW, "#/current"),
        (OLD, "short", "#/new"),
        (OLD, "x" * 129, "#/new"),
        (OLD, "password1234", "#/new"),
        (OLD, "Counterpoise-2031", "#/new"),
        (OLD, "Strength & Training 1", "#/new"),
        (OLD, "gym gym gym gym gym", "#/new"),
        (OLD, "cora@northern-iron.example", "#/new"),
        (OLD, "", "#/new"),
    ],
)
def test_what_cannot_be_taken_changes_nothing(coach: Cast, current: str, new: str, pointer: str) -> None:
    api = coach.api(coach.coach)
    answer = _change(api, current, new)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)
    assert NEW not in answer.content.decode()
    coach.coach.person.refresh_from_db()
    assert coach.coach.person.check_password(OLD)


def test_no_composition_is_asked_for_and_128_characters_are_taken(coach: Cast) -> None:
    api = coach.api(coach.coach)
    assert _change(api, new="onlylowercaseletters").status_code == 204
    assert _change(api, "onlylowercaseletters", LONG).status_code == 204
    # A word of the trade among enough others does no harm.
    assert _change(api, LONG, "my coach sings to parrots").status_code == 204


def test_an_open_session_does_not_serve_to_guess_the_password(coach: Cast) -> None:
    api = coach.api(coach.coach)
    statuses = [_change(api, f"guess number {number}").status_code for number in range(PER_ACCOUNT_AND_ADDRESS + 1)]
    assert statuses == [400] * PER_ACCOUNT_AND_ADDRESS + [429]
    # Nor does the right one get through meanwhile, here or at the sign-in.
    assert _change(api).status_code == 429
    assert _sign_in(coach, OLD).status_code == 429


def test_a_key_has_no_password(cast: Cast) -> None:
    assert _change(cast.key("logs:read")).status_code == 403


def test_a_first_password_that_another_thought_up_stays_provisional_until_a_link_sets_one(cast: Cast) -> None:
    new = {"email": "dana@new.example", "name": "Dana", "role": "coach", "password": OLD}
    assert cast.api(cast.owner).post("/api/v1/coaches", new, format="json").status_code == 201
    opened = APIClient().post("/api/v1/sessions", {"email": new["email"], "password": OLD}, format="json").json()
    assert _change(signed_in(opened["token"])).status_code == 204
    assert Person.objects.get(email=new["email"]).password_is_provisional
    APIClient().post("/api/v1/password-resets", {"email": new["email"]}, format="json")
    token = sign_token(Purpose.PASSWORD_RESET, Named(PasswordReset.objects.get().id))
    sent = {"token": token, "password": "another pass phrase 9"}
    assert APIClient().post("/api/v1/password-resets/confirm", sent, format="json").status_code == 204
    assert not Person.objects.get(email=new["email"]).password_is_provisional


def test_the_sessions_of_a_closed_account_are_refused_at_once(coach: Cast) -> None:
    api = coach.api(coach.coach)
    assert api.get("/api/v1/me").status_code == 200
    Person.objects.filter(id=coach.coach.person_id).update(is_active=False)
    assert api.get("/api/v1/me").status_code == 401
    assert _sign_in(coach, OLD).status_code == 401
