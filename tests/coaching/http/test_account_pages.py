"""The pages that links in mails open: looking changes nothing, and sending the form acts once."""

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.test.client import MULTIPART_CONTENT
from django.utils.http import urlencode

from coaching.actions.signed_links import Named, Purpose, sign_token
from coaching.models import Invitation, PasswordReset, Person
from coaching.tenancy.scope import business_scope
from tests.coaching.api.test_invitations import DANA, PASSWORD, _invite, _token
from tests.scenario import Cast


class Browser(Client):
    """A browser that sends forms as browsers do."""

    def post(self, path: str, data: Any = None, content_type: str = "", **extra: Any) -> Any:  # type: ignore[override]
        """Send a form."""
        if not content_type:
            data, content_type = urlencode(data or {}), FORM_TYPE
        return super().post(path, data, content_type, **extra)


FORM_TYPE = "application/x-www-form-urlencoded"
FORM = {"name": "Dana", "password": PASSWORD, "repeated": PASSWORD}


def _invitation(cast: Cast, **body: Any) -> str:
    return f"/account/invitations/{_token(cast, _invite(cast, **body).json()['id'])}"


def _reset(cast: Cast) -> str:
    asked = Browser().post("/api/v1/password-resets", {"email": cast.coach.person.email}, "application/json")
    assert asked.status_code == 202
    return f"/account/password-resets/{sign_token(Purpose.PASSWORD_RESET, Named(PasswordReset.objects.get().id))}"


def _text(answer: Any) -> str:
    return " ".join(re.sub("<[^>]*>", " ", answer.content.decode()).split())


def test_looking_at_an_invitation_changes_nothing_however_often(cast: Cast) -> None:
    path = _invitation(cast)
    for _ in range(3):
        shown = Browser().get(path)
        assert shown.status_code == 200
        assert "Join Northern Iron" in _text(shown)
        assert "You are invited as a coach, under the address dana@new.example ." in _text(shown)
        assert Browser().head(path).status_code == 200
    with business_scope(cast.business_id):
        assert Invitation.objects.get().accepted_at is None
    assert not Person.objects.filter(email=DANA).exists()


def test_an_invitation_is_accepted_by_its_form_once(cast: Cast) -> None:
    path = _invitation(cast)
    done = Browser().post(path, FORM)
    assert (done.status_code, "You are in Northern Iron now." in _text(done)) == (200, True)
    assert PASSWORD not in done.content.decode()
    assert Person.objects.get(email=DANA).check_password(PASSWORD)
    for again in (Browser().post(path, FORM), Browser().get(path)):
        assert (again.status_code, "This link no longer works" in _text(again)) == (410, True)


def test_whoever_has_an_account_accepts_without_a_password(cast: Cast, neighbour: Cast) -> None:
    person = neighbour.coach.person
    person.set_password(PASSWORD)
    person.save()
    path = _invitation(cast, email=person.email, role="viewer")
    shown = Browser().get(path)
    assert ("password stays as it is" in _text(shown), 'type="password"' in shown.content.decode()) == (True, False)
    assert Browser().post(path, {"password": "another pass phrase 9"}).status_code == 200
    person.refresh_from_db()
    assert person.check_password(PASSWORD)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"repeated": "another pass phrase 9"}, "The two passwords are not the same."),
        ({"password": "short", "repeated": "short"}, "This password is too short."),
        ({"password": "password1234", "repeated": "password1234"}, "too common"),
        ({"password": "x" * 129, "repeated": "x" * 129}, "128 characters at most"),
        ({"name": "n" * 201}, "200 characters at most"),
        ({"name": "Dana\0"}, "on one line"),
        ({"password": "", "repeated": ""}, "too short"),
        ({"name": ""}, "A new account needs a name."),
    ],
)
def test_what_cannot_be_taken_is_said_beside_its_field(cast: Cast, changes: dict[str, str], words: str) -> None:
    path = _invitation(cast)
    answer = Browser().post(path, {**FORM, **changes})
    assert (answer.status_code, words in _text(answer)) == (400, True), _text(answer)
    assert PASSWORD not in answer.content.decode()
    assert Browser().post(path, FORM).status_code == 200


def test_files_and_large_bodies_are_refused_unread(cast: Cast) -> None:
    path = _invitation(cast)
    sent: list[tuple[Any, str]] = [
        ({**FORM, "file": SimpleUploadedFile("x.txt", b"x" * 100)}, MULTIPART_CONTENT),
        (urlencode({**FORM, "more": "x" * 10_000}), FORM_TYPE),
        ("{}", "application/json"),
    ]
    for body, content_type in sent:
        answer = Browser().post(path, body, content_type)
        assert (answer.status_code, "Use the page's own form." in _text(answer).replace("&#x27;", "'")) == (400, True)
    assert not Person.objects.filter(email=DANA).exists()


def test_what_stands_in_the_way_is_said_in_words(cast: Cast) -> None:
    path = _invitation(cast)
    Person.objects.create_person(email=DANA, name="Dana", password=PASSWORD)
    Person.objects.filter(email=DANA).update(is_active=False)
    answer = Browser().post(path, {})
    assert (answer.status_code, "The account of this address was closed" in _text(answer)) == (409, True)


def test_a_new_password_is_set_by_its_form_once(cast: Cast) -> None:
    path = _reset(cast)
    for _ in range(2):
        assert "Set a new password" in _text(Browser().get(path))
    assert Browser().post(path, {**FORM, "repeated": "something else 77"}).status_code == 400
    assert Browser().post(path, {**FORM, "password": "short", "repeated": "short"}).status_code == 400
    done = Browser().post(path, FORM)
    assert (done.status_code, "Your new password is set" in _text(done)) == (200, True)
    assert Person.objects.get(id=cast.coach.person_id).check_password(PASSWORD)
    assert Browser().post(path, FORM).status_code == Browser().get(path).status_code == 410


def test_a_link_of_one_page_is_nothing_to_the_other(cast: Cast) -> None:
    invitation, reset = _invitation(cast).rpartition("/")[2], _reset(cast).rpartition("/")[2]
    for path in (f"/account/invitations/{reset}", f"/account/password-resets/{invitation}"):
        assert Browser().get(path).status_code == Browser().post(path, FORM).status_code == 410
    assert Browser().get("/account/invitations/x").status_code == 410


def test_each_page_is_kept_nowhere_runs_nothing_and_leaves_no_trace(cast: Cast) -> None:
    for path in (_invitation(cast), _reset(cast), "/account/invitations/x"):
        for answer in (Browser().get(path), Browser().post(path, {**FORM, "password": "short"})):
            assert answer.headers["Cache-Control"] == "no-store"
            assert answer.headers["Referrer-Policy"] == "no-referrer"
            policy = answer.headers["Content-Security-Policy"]
            assert "default-src 'none'" in policy
            assert "script-src" not in policy
            assert answer.cookies == {}
            text = answer.content.decode()
            assert not re.search(r"<script|style=|https?://|\son\w+=", text)
            # The form goes back to its own address, which therefore stands nowhere in the page.
            assert path.rpartition("/")[2] == "x" or path.rpartition("/")[2] not in text


def test_what_people_are_called_is_written_as_text(cast: Cast) -> None:
    with business_scope(cast.business_id):
        type(Invitation._meta.get_field("business").related_model.objects.get(id=cast.business_id)).objects.update(
            name="<b onload=x>Iron"
        )
    shown = Browser().get(_invitation(cast)).content.decode()
    assert "&lt;b onload=x&gt;Iron" in shown
    assert "<b onload" not in shown


def test_the_stylesheet_is_served_here(cast: Cast) -> None:
    answer = Browser().get("/static/coaching/account.css")
    answer.close()
    assert (answer.status_code, answer.headers["Content-Type"].split(";")[0]) == (200, "text/css")


def test_other_methods_are_refused(cast: Cast) -> None:
    assert Browser().delete(_invitation(cast)).status_code == 405
