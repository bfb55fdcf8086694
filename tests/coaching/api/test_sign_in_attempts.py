"""Guessing passwords is slow; whose account it is gets in."""

from datetime import timedelta
from threading import Barrier, Thread
from typing import Any

import pytest
import time_machine
from django.db import connections
from rest_framework.test import APIClient

from coaching.actions.expiry import purge_expired_answers
from coaching.actions.sign_in_attempts import PER_ACCOUNT, PER_ACCOUNT_AND_ADDRESS, PER_ADDRESS
from coaching.models import SignInAttempt
from tests.scenario import NOON, Cast, build_business

PASSWORD = "correct horse 7 battery"
EMAIL = "cora@northern-iron.example"


@pytest.fixture
def coach(cast: Cast) -> Cast:
    """The cast, its coach with a password."""
    return _with_password(cast)


def _with_password(cast: Cast) -> Cast:
    cast.coach.person.set_password(PASSWORD)
    cast.coach.person.save()
    return cast


def _sign_in(password: str = PASSWORD, *, email: str = EMAIL, address: str = "192.0.2.1", **headers: str) -> Any:
    sent = {"email": email, "password": password}
    return APIClient().post("/api/v1/sessions", sent, format="json", REMOTE_ADDR=address, headers=headers)


def _statuses(times: int, password: str = "wrong", **more: Any) -> list[int]:
    return [_sign_in(password, **more).status_code for _ in range(times)]


def test_after_five_wrong_passwords_even_the_right_one_waits_and_then_works(coach: Cast) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        assert _statuses(PER_ACCOUNT_AND_ADDRESS) == [401] * PER_ACCOUNT_AND_ADDRESS
        clock.shift(timedelta(minutes=5))
        refused = _sign_in()
        assert (refused.status_code, refused["Retry-After"]) == (429, "600")
        assert refused.json()["type"] == "/docs/problems/too_many"
        assert "Try again in 10 minutes" in refused.json()["detail"]
        clock.shift(timedelta(minutes=10))
        assert _sign_in().status_code == 201


def test_asking_while_refused_does_not_lengthen_the_wait(coach: Cast) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        _statuses(PER_ACCOUNT_AND_ADDRESS)
        clock.shift(timedelta(minutes=14))
        assert _statuses(3) == [429] * 3
        clock.shift(timedelta(minutes=1))
        assert _sign_in().status_code == 201


def test_an_unknown_address_is_answered_as_a_known_one(coach: Cast) -> None:
    known, unknown = _statuses(7), _statuses(7, email="no@one.example", address="192.0.2.2")
    assert known == unknown == [401] * 5 + [429] * 2


def test_the_spelling_of_the_email_address_makes_no_fresh_start(coach: Cast) -> None:
    spellings = ["cora@northern-iron.example", "CORA@northern-iron.example", " Cora@Northern-Iron.example"]
    assert [_sign_in("wrong", email=spellings[n % 3]).status_code for n in range(6)] == [401] * 5 + [429]


def test_an_address_that_tries_many_accounts_is_slowed_down(coach: Cast) -> None:
    tried = [_sign_in("wrong", email=f"n{n}@guess.example").status_code for n in range(PER_ADDRESS + 1)]
    assert tried == [401] * PER_ADDRESS + [429]
    assert _sign_in(address="192.0.2.77").status_code == 201


def test_a_stranger_with_many_addresses_is_slowed_down_and_the_owner_is_not_locked_out(coach: Cast) -> None:
    home, away = "198.51.100.7", "198.51.100.8"
    assert _sign_in(address=home).status_code == 201
    assert {_sign_in("wrong", address=f"203.0.113.{n}").status_code for n in range(PER_ACCOUNT)} == {401}
    assert _sign_in("wrong", address="203.0.113.200").status_code == 429
    # From where nobody ever signed in, the owner waits too; from home they get in.
    assert _sign_in(address=away).status_code == 429
    assert _sign_in(address=home).status_code == 201


def test_attempts_that_got_in_are_no_failures(coach: Cast) -> None:
    assert _statuses(8, PASSWORD) == [201] * 8


def test_a_forwarded_address_is_believed_from_a_proxy_only_and_then_its_last_hop(coach: Cast, settings: Any) -> None:
    """Else a caller invents a new address for each attempt."""

    def attempts() -> list[int]:
        return [_sign_in("wrong", **{"X-Forwarded-For": f"203.0.113.{n}, 192.0.2.50"}).status_code for n in range(6)]

    assert attempts() == [401] * 5 + [429]
    settings.BEHIND_PROXY = True
    assert attempts() == [401] * 5 + [429]
    assert set(SignInAttempt.objects.values_list("address", flat=True)) == {"192.0.2.1", "192.0.2.50"}


@pytest.mark.parametrize("forwarded", ["", "not an address", "203.0.113.1:443", "unknown"])
def test_an_address_that_can_not_be_read_counts_as_one(coach: Cast, settings: Any, forwarded: str) -> None:
    settings.BEHIND_PROXY = True
    assert _sign_in("wrong", **{"X-Forwarded-For": forwarded}).status_code == 401
    assert SignInAttempt.objects.get().address == "0.0.0.0"


def test_neither_the_email_address_nor_the_password_is_kept(coach: Cast) -> None:
    _sign_in("a wrong guess")
    kept = str(SignInAttempt.objects.values().get())
    assert "cora" not in kept.lower()
    assert "guess" not in kept


def test_old_attempts_are_forgotten(coach: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        _sign_in()
    purge_expired_answers(coach.business_id, NOON + timedelta(days=29))
    assert SignInAttempt.objects.count() == 1
    purge_expired_answers(coach.business_id, NOON + timedelta(days=31))
    assert SignInAttempt.objects.count() == 0


def test_of_many_attempts_at_once_no_more_than_the_limit_have_their_password_looked_at(committed: None) -> None:
    _with_password(build_business("Northern Iron"))
    at_once, seen = Barrier(16), []

    def attempt() -> None:
        at_once.wait()
        try:
            seen.append(_sign_in("wrong").status_code)
        finally:
            connections.close_all()

    threads = [Thread(target=attempt) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(set(seen)) in ([401, 429], [429])
    assert seen.count(401) <= PER_ACCOUNT_AND_ADDRESS
