"""A new password by a link sent to the account's address, which tells nobody whether there is an account."""

import threading
import time
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from rest_framework.test import APIClient

from coaching.actions.due_work import run_due_jobs
from coaching.actions.expiry import purge_expired_answers
from coaching.actions.password_resets import PER_ACCOUNT, PER_ADDRESS
from coaching.actions.signed_links import Named, Purpose, sign_token
from coaching.models import Membership, OutboxMessage, PasswordReset, Person
from coaching.registry import dispatch_jobs
from coaching.tenancy.scope import business_scope
from tests.coaching.api.test_invitations import _token_in
from tests.scenario import NOON, Cast, build_business, signed_in
from tests.second_factors import Member
from tests.smtp_server import SmtpSink

PATH = "/api/v1/password-resets"
CONFIRM = f"{PATH}/confirm"
OLD, NEW = "correct horse 7 battery", "kettle over granite 7"
UNKNOWN = "nobody@northern-iron.example"


@pytest.fixture
def coach(cast: Cast) -> Cast:
    """The cast, its coach with a password."""
    cast.coach.person.set_password(OLD)
    cast.coach.person.save()
    return cast


def _ask(email: str, address: str = "192.0.2.7") -> Any:
    return APIClient().post(PATH, {"email": email}, format="json", REMOTE_ADDR=address)


def _confirm(token: str, password: str = NEW) -> Any:
    return APIClient().post(CONFIRM, {"token": token, "password": password}, format="json", REMOTE_ADDR="192.0.2.8")


def _sign_in(email: str, password: str) -> Any:
    return APIClient().post("/api/v1/sessions", {"email": email, "password": password}, format="json")


def _dispatch() -> None:
    run_due_jobs(jobs=dispatch_jobs, now=timezone.now(), seconds=30)


def _token(reset: PasswordReset) -> str:
    return sign_token(Purpose.PASSWORD_RESET, Named(reset.id))


def _asked(cast: Cast) -> str:
    """Ask for a new password of the coach, and return the token of the link."""
    assert _ask(cast.coach.person.email).status_code == 202
    return _token(PasswordReset.objects.latest("id"))


def test_a_forgotten_password_is_set_anew_by_the_mail(coach: Cast, smtp: SmtpSink) -> None:
    email = coach.coach.person.email
    api = coach.api(coach.coach)
    assert api.get("/api/v1/me").status_code == 200
    assert _ask(email.upper()).status_code == 202
    _dispatch()
    (letter,) = smtp.letters
    assert (letter.to, letter.subject) == (email, "Set a new password")
    token = _token_in(letter.text, "password-resets")
    answer = _confirm(token)
    assert (answer.status_code, answer.content) == (204, b"")
    # Every session ended, nobody was signed in by it, and the old password is good for nothing.
    assert api.get("/api/v1/me").status_code == 401
    assert _sign_in(email, OLD).status_code == 401
    assert _sign_in(email, NEW).status_code == 201
    assert _confirm(token, "another pass phrase 9").json()["code"] == "link_not_good"
    _dispatch()
    assert [letter.subject for letter in smtp.letters] == ["Set a new password", "Your password was changed"]
    trail = coach.api(coach.owner).get("/api/v1/audit-entries").json()["items"]
    told = {entry["operation"]: (entry["actor_id"], entry["address"]) for entry in trail}
    assert told["password_resets.create"] == (str(coach.coach.id), "192.0.2.7")
    assert told["password_resets.confirm"] == (str(coach.coach.id), "192.0.2.8")


def test_known_and_unknown_addresses_are_answered_alike_by_the_same_statements(coach: Cast, smtp: SmtpSink) -> None:
    def asked(email: str, address: str) -> tuple[Any, list[str]]:
        with CaptureQueriesContext(connection) as captured:
            answer = _ask(email, address)
        return answer, [query["sql"].split("SET")[0][:60] for query in captured]

    known, statements = asked(coach.coach.person.email, "192.0.2.1")
    unknown, others = asked(UNKNOWN, "192.0.2.2")
    assert (known.status_code, known.content) == (unknown.status_code, unknown.content)
    assert statements == others
    assert {name: known.headers[name] for name in known.headers if name != "X-Request-Id"}.keys() == {
        name: unknown.headers[name] for name in unknown.headers if name != "X-Request-Id"
    }.keys()
    _dispatch()
    assert [letter.to for letter in smtp.letters] == [coach.coach.person.email]


def test_asking_takes_no_password_check_so_that_its_time_tells_nothing(coach: Cast) -> None:
    """Argon2 takes tens of milliseconds of CPU; asking takes a few, known or not."""

    def spent_s(email: str) -> float:
        start = time.process_time()
        _ask(email, f"192.0.2.{len(email)}")
        return time.process_time() - start

    _ask("warm@up.example")
    known, unknown = (min(spent_s(email) for _ in range(3)) for email in (coach.coach.person.email, UNKNOWN))
    assert known < 2 * unknown + 0.01


@pytest.mark.parametrize("email", ["cora@northern-iron.example", UNKNOWN])
def test_asking_too_often_is_refused_for_known_and_unknown_accounts_alike(coach: Cast, email: str) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        answers = [_ask(email, f"192.0.2.{number}") for number in range(PER_ACCOUNT + 1)]
        assert [answer.status_code for answer in answers] == [202] * PER_ACCOUNT + [429]
        assert answers[-1].headers["Retry-After"] == "3600"
        clock.shift(timedelta(hours=1))
        assert _ask(email).status_code == 202


def test_one_address_asks_for_so_many_accounts_and_no_more(coach: Cast) -> None:
    statuses = [_ask(f"p{number}@many.example").status_code for number in range(PER_ADDRESS + 1)]
    assert statuses == [202] * PER_ADDRESS + [429]
    assert _ask(coach.coach.person.email, "198.51.100.1").status_code == 202


def test_a_later_link_makes_those_before_it_void(coach: Cast, smtp: SmtpSink) -> None:
    first = _asked(coach)
    _dispatch()
    second = _asked(coach)
    _dispatch()
    assert len(smtp.letters) == 2
    assert _confirm(first).json()["code"] == "link_not_good"
    assert _confirm(second).status_code == 204


def test_of_several_requests_that_wait_the_last_is_mailed(coach: Cast, smtp: SmtpSink) -> None:
    _asked(coach)
    last = _asked(coach)
    _dispatch()
    (letter,) = smtp.letters
    assert _confirm(_token_in(letter.text, "password-resets")).status_code == 204
    assert _confirm(last).status_code == 400


def test_links_that_are_forged_foreign_or_too_old_are_refused_alike(coach: Cast) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        good = _asked(coach)
        reset = PasswordReset.objects.get()
        bad = [
            good[:-1] + ("a" if good[-1] != "a" else "b"),
            sign_token(Purpose.INVITATION, Named(reset.id, coach.business_id)),
            sign_token(Purpose.PASSWORD_RESET, Named(uuid4())),
            "x",
        ]
        assert _ask(UNKNOWN).status_code == 202
        bad.append(_token(PasswordReset.objects.latest("id")))
        said = {_confirm(token).content.partition(b'"request_id"')[0] for token in bad}
        clock.shift(timedelta(hours=1))
        said.add(_confirm(good).content.partition(b'"request_id"')[0])
    assert len(said) == 1
    assert b"link_not_good" in said.pop()
    assert _sign_in(coach.coach.person.email, OLD).status_code == 201


def test_a_password_that_cannot_be_taken_leaves_the_link_good(coach: Cast) -> None:
    token = _asked(coach)
    for password in ("short", "password1234", "cora@northern-iron", "qwertyuiop123"):
        answer = _confirm(token, password)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/password")
    assert _confirm(token).status_code == 204


def test_long_pass_phrases_of_any_letters_are_taken_as_they_are(coach: Cast) -> None:
    password = "  " + "grün käse 山 " * 10 + "  "
    assert 64 < len(password) <= 128
    assert _confirm(_asked(coach), password).status_code == 204
    assert _sign_in(coach.coach.person.email, password.strip()).status_code == 401
    assert _sign_in(coach.coach.person.email, password).status_code == 201


def test_another_password_makes_the_link_void(coach: Cast) -> None:
    token = _asked(coach)
    api = coach.api(coach.coach)
    changed = api.post("/api/v1/me/password", {"current": OLD, "new": NEW}, format="json")
    assert changed.status_code == 204
    assert _confirm(token, "another pass phrase 9").status_code == 400


def test_a_first_password_is_set_by_the_same_link(cast: Cast, smtp: SmtpSink) -> None:
    """Somebody put on a team without a password has none yet."""
    assert _ask(cast.coach.person.email).status_code == 202
    _dispatch()
    assert _confirm(_token_in(smtp.letters[0].text, "password-resets")).status_code == 204
    assert _sign_in(cast.coach.person.email, NEW).status_code == 201


def test_no_mail_goes_to_closed_accounts_or_to_people_of_no_business(coach: Cast, smtp: SmtpSink) -> None:
    Person.objects.filter(id=coach.head.person_id).update(is_active=False)
    with business_scope(coach.business_id):
        Membership.objects.filter(id=coach.viewer.id).update(state="left")
    for member in (coach.head, coach.viewer):
        assert _ask(member.person.email).status_code == 202
    _dispatch()
    assert smtp.letters == []
    assert _confirm(_token(PasswordReset.objects.get(person=coach.head.person))).status_code == 400


def test_a_person_of_two_businesses_gets_one_mail_and_both_are_told(
    coach: Cast, neighbour: Cast, smtp: SmtpSink
) -> None:
    with business_scope(neighbour.business_id):
        Membership.objects.create(person=coach.coach.person, role="viewer", time_zone="UTC")
    assert _ask(coach.coach.person.email).status_code == 202
    _dispatch()
    assert _confirm(_token_in(smtp.letters[0].text, "password-resets")).status_code == 204
    _dispatch()
    assert len(smtp.letters) == 2
    for cast in (coach, neighbour):
        entries = cast.api(cast.owner).get("/api/v1/audit-entries", {"operation": "password_resets.confirm"})
        assert len(entries.json()["items"]) == 1


def test_no_link_and_no_address_without_account_stands_in_the_database(coach: Cast, smtp: SmtpSink) -> None:
    _ask(coach.coach.person.email)
    _ask(UNKNOWN)
    _dispatch()
    token = _token_in(smtp.letters[0].text, "password-resets")
    with business_scope(coach.business_id), connection.cursor() as cursor:
        assert OutboxMessage.objects.get().rendered is None
        for table in ("coaching_outboxmessage", "coaching_passwordreset", "coaching_auditentry"):
            cursor.execute(f"SELECT coalesce(string_agg(t::text, ' '), '') FROM {table} t")
            kept = cursor.fetchone()[0]
            assert kept
            assert not [part for part in (token, *token.split(":")) if len(part) > 10 and part in kept]
            assert UNKNOWN not in kept


def test_requests_are_forgotten_after_a_day(coach: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        _ask(UNKNOWN)
    purge_expired_answers(coach.business_id, NOON + timedelta(hours=23))
    assert PasswordReset.objects.count() == 1
    purge_expired_answers(coach.business_id, NOON + timedelta(hours=25))
    assert PasswordReset.objects.count() == 0


@pytest.mark.usefixtures("committed")
def test_of_two_who_use_a_link_at_once_one_wins() -> None:
    cast = build_business("Reset At Once")
    token = _asked(cast)
    start, statuses = threading.Barrier(2), []

    def confirm(password: str) -> None:
        start.wait()
        statuses.append(_confirm(token, password).status_code)
        connection.close()

    threads = [threading.Thread(target=confirm, args=[password]) for password in (OLD, NEW)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [204, 400]


@pytest.mark.usefixtures("committed")
def test_of_many_requests_at_once_no_more_than_the_limit_get_through() -> None:
    cast = build_business("Ask At Once")
    email, many = cast.coach.person.email, PER_ACCOUNT + 3
    start, statuses = threading.Barrier(many), []

    def ask(number: int) -> None:
        start.wait()
        statuses.append(_ask(email, f"192.0.2.{number}").status_code)
        connection.close()

    threads = [threading.Thread(target=ask, args=[number]) for number in range(many)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert statuses.count(202) <= PER_ACCOUNT
    assert set(statuses) <= {202, 429}


def test_a_new_password_leaves_the_second_factor_standing(coach: Cast) -> None:
    member = Member(coach.coach).enrol()
    assert _confirm(_asked(coach)).status_code == 204
    assert member.sign_in(NEW).json()["code"] == "second_factor_required"
    assert member.sign_in(NEW, code=member.recovery_codes[0]).status_code == 201


def test_a_stale_session_does_not_stand_in_the_way(coach: Cast) -> None:
    assert signed_in("stale").post(PATH, {"email": UNKNOWN}, format="json").status_code == 202
