"""Invitations: to the team and to a client's own record, by a link that only the address gets."""

import json
import re
import threading
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine
from django.core import signing
from django.db import connection
from django.test import override_settings
from django.utils import timezone
from rest_framework.test import APIClient

from coaching.actions.outbox import deliver_due_messages
from coaching.actions.signed_links import Named, Purpose, sign_token
from coaching.models import Client, Invitation, Membership, OutboxMessage, Person
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.scenario import NOON, Cast, build_business, signed_in
from tests.smtp_server import SmtpSink

PATH = "/api/v1/invitations"
ACCEPT = f"{PATH}/accept"
PASSWORD = "kettle over granite 7"
DANA = "dana@new.example"


def _invite(cast: Cast, by: Membership | None = None, **body: Any) -> Any:
    return cast.api(by or cast.owner).post(PATH, body or {"email": DANA, "role": "coach"}, format="json")


def _accept(token: str, **body: Any) -> Any:
    return APIClient().post(ACCEPT, {"token": token, **body}, format="json")


def _mails(cast: Cast, smtp: SmtpSink) -> list[str]:
    """Deliver what is due, and return the texts of all letters."""
    while deliver_due_messages(cast.business_id, timezone.now()):
        pass
    return [letter.text for letter in smtp.letters]


def _token_in(text: str, page: str = "invitations") -> str:
    (token,) = re.findall(rf"/account/{page}/(\S+)", text)
    return str(token)


def _token(cast: Cast, invitation_id: str, number: int = 1) -> str:
    return sign_token(Purpose.INVITATION, Named(UUID(invitation_id), cast.business_id, number))


def _sign_in(email: str, password: str = PASSWORD) -> Any:
    return APIClient().post("/api/v1/sessions", {"email": email, "password": password}, format="json")


def test_an_owner_invites_a_coach_who_joins_by_the_mail_and_signs_in(cast: Cast, smtp: SmtpSink) -> None:
    made = _invite(cast, email="Dana@New.example", role="coach")
    assert made.status_code == 201, made.content
    assert made.headers["Location"] == f"{PATH}/{made.json()['id']}"
    assert (made.json()["state"], made.json()["email"], made.json()["client"]) == ("pending", DANA, None)
    (text,) = _mails(cast, smtp)
    (letter,) = smtp.letters
    assert (letter.to, letter.subject) == (DANA, "Northern Iron invites you")
    assert "Olga invites you to join Northern Iron as a coach" in " ".join(text.split())
    token = _token_in(text)
    assert f"/account/invitations/{token}" in letter.html
    accepted = _accept(token, name="Dana", password=PASSWORD)
    assert accepted.status_code == 201, accepted.content
    assert accepted.json() == {
        "business": {"id": str(cast.business_id), "name": "Northern Iron"},
        "role": "coach",
        "new_account": True,
    }
    me = signed_in(_sign_in(DANA).json()["token"]).get("/api/v1/me").json()
    assert (me["role"], me["person"]["name"]) == ("coach", "Dana")
    listed = cast.api(cast.owner).get(f"{PATH}?state=accepted").json()["items"]
    assert [item["id"] for item in listed] == [made.json()["id"]]
    trail = cast.api(cast.owner).get("/api/v1/audit-entries", {"operation": "invitations.accept"}).json()["items"]
    assert [(entry["object_id"], entry["values"]) for entry in trail] == [(made.json()["id"], {"role": "coach"})]
    assert trail[0]["actor_id"] == me["coach"]


def test_a_coach_invites_their_client_who_then_sees_their_own_record(cast: Cast, smtp: SmtpSink) -> None:
    made = _invite(cast, cast.coach, client=str(cast.ben.id))
    assert made.status_code == 201, made.content
    assert (made.json()["role"], made.json()["email"]) == ("client", "ben@northern-iron.example")
    (text,) = _mails(cast, smtp)
    assert _accept(_token_in(text), password=PASSWORD).status_code == 201
    api = signed_in(_sign_in("ben@northern-iron.example").json()["token"])
    me = api.get("/api/v1/me").json()
    assert (me["role"], me["client"], me["person"]["name"]) == ("client", str(cast.ben.id), "Ben")
    assert [item["id"] for item in api.get("/api/v1/clients").json()["items"]] == [str(cast.ben.id)]
    with business_scope(cast.business_id):
        assert Client.objects.get(id=cast.ben.id).membership.time_zone == "America/Chicago"
    again = _invite(cast, cast.coach, client=str(cast.ben.id), email="other@new.example")
    assert (again.status_code, again.json()["code"]) == (409, "already_has_account")


def test_an_account_that_its_person_uses_joins_without_a_password_and_keeps_its_own(
    cast: Cast, neighbour: Cast
) -> None:
    person = neighbour.coach.person
    person.set_password(PASSWORD)
    person.save()
    token = _token(cast, _invite(cast, email=person.email, role="viewer").json()["id"])
    refused = _accept(token, name="Mallory", password="another pass phrase 9")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "#/password")
    joined = _accept(token)
    assert (joined.status_code, joined.json()["new_account"]) == (201, False)
    person.refresh_from_db()
    assert (person.name, person.check_password(PASSWORD)) == ("Cora", True)
    places = _sign_in(person.email).json()["businesses"]
    assert [place["name"] for place in places] == ["Harbour Strength", "Northern Iron"]


@pytest.mark.parametrize("first", ["long password of another", None])
def test_an_account_that_somebody_else_made_gets_a_password_of_its_persons_own(
    cast: Cast, neighbour: Cast, first: str | None
) -> None:
    """Else whoever thought its first password up could sign in to every business that its person joins."""
    new = {"email": DANA, "name": "Dana", "role": "coach"} | ({"password": first} if first else {})
    assert neighbour.api(neighbour.owner).post("/api/v1/coaches", new, format="json").status_code == 201
    opened = _sign_in(DANA, first).json()["token"] if first else None
    token = _token(cast, _invite(cast).json()["id"])
    assert _accept(token).json()["errors"][0]["pointer"] == "#/password"
    assert _accept(token, password=PASSWORD).json()["new_account"] is False
    if first:
        assert _sign_in(DANA, first).status_code == 401
        assert signed_in(str(opened)).get("/api/v1/me").status_code == 401
    assert _sign_in(DANA).json()["code"] == "choose_business"


def test_a_link_works_once(cast: Cast) -> None:
    token = _token(cast, _invite(cast).json()["id"])
    assert _accept(token, name="Dana", password=PASSWORD).status_code == 201
    again = _accept(token, name="Dana", password=PASSWORD)
    assert (again.status_code, again.json()["code"]) == (400, "link_not_good")


def test_what_is_wrong_with_a_name_or_password_leaves_the_link_good(cast: Cast) -> None:
    token = _token(cast, _invite(cast).json()["id"])
    for sent, pointer in (
        ({"name": "Dana"}, "#/password"),
        ({"password": PASSWORD}, "#/name"),
        ({"name": "Dana", "password": "short"}, "#/password"),
        ({"name": "Dana", "password": "password1234"}, "#/password"),
        ({"name": "Dana Delacroix", "password": "danadelacroix"}, "#/password"),
        ({"name": "Dana", "password": "dana@new.example"}, "#/password"),
        ({"name": "Dana", "password": PASSWORD, "role": "owner"}, "#/role"),
    ):
        answer = _accept(token, **sent)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer), sent
    assert not Person.objects.filter(email=DANA).exists()
    assert _accept(token, name="Dana", password=PASSWORD).status_code == 201


def test_links_that_are_forged_foreign_or_too_old_are_refused_alike(cast: Cast, neighbour: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        made = _invite(cast).json()
        good = _token(cast, made["id"])
        reset = sign_token(Purpose.PASSWORD_RESET, Named(UUID(made["id"]), cast.business_id))
        bad = {
            "tampered": good[:-1] + ("a" if good[-1] != "a" else "b"),
            "of another purpose": reset,
            "of another business": sign_token(Purpose.INVITATION, Named(UUID(made["id"]), neighbour.business_id)),
            "of nothing": _token(cast, str(uuid4())),
            "of no business": sign_token(Purpose.INVITATION, Named(UUID(made["id"]))),
            "of a later sending": _token(cast, made["id"], 2),
            "unsigned": signing.b64_encode(json.dumps({"p": "invitation", "i": made["id"]}).encode()).decode(),
            "empty": ":",
            "of another key": signing.dumps({"p": "invitation"}, key="x" * 60, salt="coaching.signed_links.invitation"),
        }
        said = {name: _accept(token, name="Dana", password=PASSWORD) for name, token in bad.items()}
    late = NOON + timedelta(days=7)
    with time_machine.travel(late, tick=False):
        said["too old"] = _accept(good, name="Dana", password=PASSWORD)
        cast.tokens.clear()
        assert cast.api(cast.owner).get(f"{PATH}/{made['id']}").json()["state"] == "expired"
    answers = {(answer.status_code, answer.json()["code"], answer.json()["detail"]) for answer in said.values()}
    assert len(answers) == 1
    assert answers.pop()[:2] == (400, "link_not_good")
    assert not Person.objects.filter(email=DANA).exists()


def test_a_withdrawn_invitation_is_void_and_a_closed_business_takes_nobody(cast: Cast, smtp: SmtpSink) -> None:
    made = _invite(cast).json()
    owner = cast.api(cast.owner)
    assert owner.delete(f"{PATH}/{made['id']}").status_code == 204
    assert owner.delete(f"{PATH}/{made['id']}").status_code == 204
    assert _mails(cast, smtp) == []
    assert _accept(_token(cast, made["id"]), name="Dana", password=PASSWORD).status_code == 400
    assert owner.post(f"{PATH}/{made['id']}/resend").json()["code"] == "invitation_over"
    other = _invite(cast).json()
    with business_scope(cast.business_id):
        type(Invitation.objects.get(id=other["id"]).business).objects.update(state="closed")
    assert _accept(_token(cast, other["id"]), name="Dana", password=PASSWORD).status_code == 400


def test_sending_again_makes_the_link_before_void_and_is_good_for_seven_days_more(cast: Cast, smtp: SmtpSink) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        made = _invite(cast).json()
        _mails(cast, smtp)
        clock.shift(timedelta(days=6))
        cast.tokens.clear()
        again = cast.api(cast.owner).post(f"{PATH}/{made['id']}/resend")
        assert (again.status_code, again.json()["sends"]) == (200, 2)
        _mails(cast, smtp)
        first, second = (_token_in(letter.text) for letter in smtp.letters)
        clock.shift(timedelta(hours=1))
        assert _accept(first, name="Dana", password=PASSWORD).json()["code"] == "link_not_good"
        clock.shift(timedelta(days=6))
        assert _accept(second, name="Dana", password=PASSWORD).status_code == 201


def test_a_mail_that_waited_while_it_was_sent_again_is_not_sent(cast: Cast, smtp: SmtpSink) -> None:
    made = _invite(cast).json()
    cast.api(cast.owner).post(f"{PATH}/{made['id']}/resend")
    (text,) = _mails(cast, smtp)
    assert _accept(_token_in(text), name="Dana", password=PASSWORD).status_code == 201


def test_one_invitation_is_sent_a_few_times_a_day_and_a_business_has_its_fill(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        owner, made = cast.api(cast.owner), _invite(cast).json()
        assert [owner.post(f"{PATH}/{made['id']}/resend").status_code for _ in range(4)] == [200, 200, 200, 429]
        with business_scope(cast.business_id):
            Invitation.objects.bulk_create(
                [
                    Invitation(
                        email=f"p{number}@new.example", role="coach", sent_at=[NOON], last_sent_at=NOON,
                        expires_at=NOON + timedelta(days=7), created_at=NOON,
                    )
                    for number in range(96)
                ]
            )  # fmt: skip
        refused = _invite(cast, email="one@more.example", role="coach")
        assert (refused.status_code, refused.headers["Retry-After"]) == (429, "86400")
        clock.shift(timedelta(days=1, seconds=1))
        cast.tokens.clear()
        assert _invite(cast, email="one@more.example", role="coach").status_code == 201
        assert cast.api(cast.owner).post(f"{PATH}/{made['id']}/resend").status_code == 200


def test_who_may_invite_whom(cast: Cast, neighbour: Cast) -> None:
    for member in (cast.head, cast.coach):
        assert _invite(cast, member, email=DANA, role="viewer").status_code == 403
    assert _invite(cast, cast.viewer, client=str(cast.ben.id)).status_code == 403
    assert cast.key("clients:read").post(PATH, {}, format="json").status_code == 403
    for client_id in (cast.carl.id, neighbour.ben.id, uuid4()):
        refused = _invite(cast, cast.coach, client=str(client_id))
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "#/client")
    assert _invite(cast, cast.head, client=str(cast.carl.id)).status_code == 201


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ({"email": "x@new.example"}, 400, "invalid"),
        ({"role": "coach"}, 400, "invalid"),
        ({"email": "cora@northern-iron.example", "role": "viewer"}, 409, "already_on_team"),
        ({"email": "x@new.example", "role": "client"}, 400, "invalid"),
        ({"email": "not an address", "role": "coach"}, 400, "invalid"),
        ({"email": "x@new.example\r\nBcc: y@new.example", "role": "coach"}, 400, "invalid"),
        ({"email": "x@new.example", "role": "coach", "token": "mine"}, 400, "invalid"),
    ],
)
def test_an_invitation_that_makes_no_sense_is_refused(cast: Cast, body: dict[str, Any], status: int, code: str) -> None:
    answer = _invite(cast, **body)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    with business_scope(cast.business_id):
        assert Invitation.objects.count() == OutboxMessage.objects.count() == 0


def test_the_same_address_is_not_invited_twice_and_an_ended_client_not_at_all(cast: Cast) -> None:
    assert _invite(cast).status_code == 201
    assert _invite(cast, email="DANA@new.example", role="viewer").json()["code"] == "already_invited"
    both = _invite(cast, email="both@new.example", role="coach", client=str(cast.ben.id))
    assert both.status_code == 400
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(state="ended")
    assert _invite(cast, client=str(cast.ben.id)).json()["code"] == "client_ended"


def test_a_coach_deals_with_invitations_of_their_own_clients_only(cast: Cast, neighbour: Cast) -> None:
    team, bens = _invite(cast).json(), _invite(cast, client=str(cast.ben.id)).json()
    carls = _invite(cast, client=str(cast.carl.id)).json()
    seen = {
        member: {item["id"] for item in cast.api(getattr(cast, member)).get(PATH).json()["items"]}
        for member in ("owner", "head", "coach", "other_coach")
    }
    assert seen == {
        "owner": {team["id"], bens["id"], carls["id"]},
        "head": {bens["id"], carls["id"]},
        "coach": {bens["id"]},
        "other_coach": {carls["id"]},
    }
    listed = cast.api(cast.coach).get(PATH, {"client": str(cast.ben.id)}).json()["items"]
    assert [item["id"] for item in listed] == [bens["id"]]
    for client in (cast.carl, neighbour.ben):
        assert cast.api(cast.coach).get(PATH, {"client": str(client.id)}).status_code == 400
    for api in (cast.api(cast.coach), neighbour.api(neighbour.owner)):
        for path in (f"{PATH}/{team['id']}", f"{PATH}/{carls['id']}", f"{PATH}/{uuid4()}"):
            answers = [api.get(path), api.delete(path), api.post(f"{path}/resend")]
            assert [answer.status_code for answer in answers] == [404, 404, 404]


def test_invitations_of_whoever_leaves_or_changes_role_are_void(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Membership.objects.filter(id=cast.head.id).update(role="owner")
    tokens = []
    for word in ("one", "two"):
        tokens.append(_token(cast, _invite(cast, cast.head, email=f"{word}@new.example", role="owner").json()["id"]))
        owner, path = cast.api(cast.owner), f"/api/v1/coaches/{cast.head.id}"
        if word == "one":
            assert owner.patch(path, {"role": "coach"}, format="json", HTTP_IF_MATCH="*").status_code == 200
            with business_scope(cast.business_id):
                Membership.objects.filter(id=cast.head.id).update(role="owner")
            cast.tokens.pop(cast.head.id)
        else:
            assert owner.delete(path, HTTP_IF_MATCH="*").status_code == 204
    assert [_accept(token, name="X Y", password=PASSWORD).status_code for token in tokens] == [400, 400]


def test_whoever_left_comes_back_by_an_invitation_in_the_role_it_says(cast: Cast) -> None:
    owner = cast.api(cast.owner)
    assert owner.delete(f"/api/v1/coaches/{cast.viewer.id}", HTTP_IF_MATCH="*").status_code == 204
    email = cast.viewer.person.email
    token = _token(cast, _invite(cast, email=email, role="head_coach").json()["id"])
    assert _accept(token, password=PASSWORD).status_code == 201
    back = owner.get(f"/api/v1/coaches/{cast.viewer.id}").json()
    assert (back["role"], back["state"]) == ("head_coach", "active")


def test_a_clients_access_is_taken_away_and_given_again(cast: Cast) -> None:
    api, path = cast.api(cast.client_member), f"/api/v1/clients/{cast.anna.id}/account"
    assert api.get("/api/v1/me").status_code == 200
    assert cast.api(cast.other_coach).delete(path).status_code == 404
    assert cast.api(cast.coach).delete(path).status_code == 204
    assert api.get("/api/v1/me").status_code == 401
    assert cast.api(cast.coach).delete(path).status_code == 404
    token = _token(cast, _invite(cast, cast.coach, client=str(cast.anna.id)).json()["id"])
    assert _accept(token, password=PASSWORD).status_code == 201
    email = cast.client_member.person.email
    assert signed_in(_sign_in(email).json()["token"]).get("/api/v1/me").json()["client"] == str(cast.anna.id)


def test_an_account_that_a_record_no_longer_names_is_forgotten(cast: Cast) -> None:
    """Else an erasure of the record would leave it behind."""
    before = cast.client_member.person_id
    assert cast.api(cast.coach).delete(f"/api/v1/clients/{cast.anna.id}/account").status_code == 204
    with business_scope(cast.business_id):
        assert Client.objects.get(id=cast.anna.id).membership_id == cast.client_member.id
    made = _invite(cast, cast.coach, client=str(cast.anna.id), email="anna@new.example").json()
    assert _accept(_token(cast, made["id"]), password=PASSWORD).status_code == 201
    assert not Person.objects.filter(id=before).exists()
    with business_scope(cast.business_id):
        now = Client.objects.get(id=cast.anna.id).membership
        assert now is not None
        assert now.person.email == "anna@new.example"


def test_a_closed_account_does_not_join(cast: Cast) -> None:
    Person.objects.create_person(email=DANA, name="Dana", password=PASSWORD)
    Person.objects.filter(email=DANA).update(is_active=False)
    token = _token(cast, _invite(cast).json()["id"])
    assert _accept(token).json()["code"] == "account_closed"


@pytest.mark.usefixtures("committed")
def test_of_two_who_accept_at_once_one_wins() -> None:
    cast = build_business("Accept At Once")
    token = _token(cast, _invite(cast).json()["id"])
    start, statuses = threading.Barrier(2), []

    def accept() -> None:
        start.wait()
        statuses.append(_accept(token, name="Dana", password=PASSWORD).status_code)
        connection.close()

    threads = [threading.Thread(target=accept) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [201, 400]
    with business_scope(cast.business_id):
        assert Membership.objects.filter(person__email=DANA).count() == 1


def test_no_link_stands_in_the_database(cast: Cast, smtp: SmtpSink) -> None:
    smtp.answer("450 4.2.0 Greylisted, come back")
    with time_machine.travel(NOON, tick=False) as clock:
        _invite(cast)
        _mails(cast, smtp)
        clock.shift(timedelta(minutes=1))
        (text,) = _mails(cast, smtp)
    token = _token_in(text)
    with business_scope(cast.business_id), connection.cursor() as cursor:
        (message,) = OutboxMessage.objects.all()
        assert (message.state, message.rendered, message.attempts) == ("sent", None, 1)
        for table in ("coaching_outboxmessage", "coaching_invitation", "coaching_auditentry"):
            cursor.execute(f"SELECT coalesce(string_agg(t::text, ' '), '') FROM {table} t")
            kept = cursor.fetchone()[0]
            assert not [part for part in (token, *token.split(":")) if len(part) > 10 and part in kept]


def test_what_a_server_says_of_a_mail_with_a_link_is_kept_without_its_words(cast: Cast, smtp: SmtpSink) -> None:
    smtp.answer("data: 554 5.7.1 Not wanted: http://localhost/account/invitations/said-back")
    _invite(cast)
    assert _mails(cast, smtp) == []
    with business_scope(cast.business_id):
        (message,) = OutboxMessage.objects.all()
    assert (message.state, message.last_problem) == ("failed", "The mail server answered 554")


def test_a_link_outlives_a_change_of_the_secret_key_while_the_old_one_is_a_fallback(cast: Cast, settings: Any) -> None:
    with override_settings(SECRET_KEY="the one before " * 5):
        token = _token(cast, _invite(cast).json()["id"])
    assert _accept(token, name="Dana", password=PASSWORD).status_code == 400
    settings.SECRET_KEY_FALLBACKS = ["the one before " * 5]
    assert _accept(token, name="Dana", password=PASSWORD).status_code == 201


def test_the_list_costs_the_same_for_one_and_for_fifty(cast: Cast) -> None:
    _invite(cast)
    api = cast.api(cast.owner)
    few = statements_of(api, PATH)
    with business_scope(cast.business_id):
        for number in range(49):
            Invitation.objects.create(
                email=f"p{number}@new.example", role="coach", sent_at=[NOON], last_sent_at=NOON, expires_at=NOON,
                created_at=NOON,
            )  # fmt: skip
    assert statements_of(api, PATH) == few
    assert len(api.get(f"{PATH}?limit=50").json()["items"]) == 50
