"""Who was not let in stands in the trail, the answer tells nothing of it, and nobody fills the trail."""

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.actions.refused_sign_ins import ONE_BY_ONE
from coaching.actions.sign_in_attempts import PER_ACCOUNT_AND_ADDRESS, PER_ADDRESS
from coaching.models import AuditEntry, Membership, SignInAttempt
from coaching.tenancy.scope import business_scope
from tests.password_hashers import count_hashes
from tests.scenario import NOON, Cast
from tests.second_factors import Member

PASSWORD = "correct horse 7 battery"
EMAIL = "cora@northern-iron.example"
_VALUE = re.compile(r"'[^']*'(::\w+)?|\bNULL\b|\b\d+\b")


@pytest.fixture
def clock() -> Iterator[Any]:
    """A clock that stands still until it is moved."""
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def coach(clock: Any, cast: Cast) -> Cast:
    """The cast, its coach with a password."""
    cast.coach.person.set_password(PASSWORD)
    cast.coach.person.save()
    return cast


def _sign_in(password: str = "wrong", *, email: str = EMAIL, address: str = "192.0.2.1", **headers: str) -> int:
    sent = {"email": email, "password": password}
    answer = APIClient().post("/api/v1/sessions", sent, format="json", REMOTE_ADDR=address, headers=headers)
    return int(answer.status_code)


def _tick(now: datetime) -> None:
    """What a worker does every thirty seconds, of this job alone."""
    jobs = [job for job in registry.tick_jobs if job.name == "tell_refused_sign_ins"]
    assert len(jobs) == 1
    run_due_jobs(jobs=jobs, now=now, seconds=10)


def _told(cast: Cast, now: datetime = NOON) -> list[dict[str, Any]]:
    _tick(now)
    with business_scope(cast.business_id):
        return list(AuditEntry.objects.filter(operation="sessions.refused").order_by("at", "id").values())


def test_a_wrong_password_is_told_with_address_and_request_and_without_what_was_typed(coach: Cast) -> None:
    assert _sign_in("a guess", email=EMAIL.upper(), **{"X-Request-Id": "from-the-app-9"}) == 401
    (entry,) = _told(coach)
    assert (entry["at"], entry["actor_kind"], entry["actor_id"]) == (NOON, "unknown", None)
    assert (entry["address"], entry["request_id"]) == ("192.0.2.1", "from-the-app-9")
    assert (entry["object_id"], entry["values"]) == (str(coach.coach.id), {"reason": "wrong_password"})
    assert "cora" not in str(entry).lower()
    assert "guess" not in str(entry)
    # Once.
    assert len(_told(coach, NOON + timedelta(hours=1))) == 1


def test_it_is_told_in_each_business_that_the_person_is_in_and_in_no_other(
    coach: Cast, neighbour: Cast, clock: Any
) -> None:
    _sign_in()
    assert len(_told(coach)) == 1
    assert _told(neighbour) == []
    with business_scope(neighbour.business_id):
        joined = Membership.objects.create(person=coach.coach.person, role="viewer", time_zone="UTC")
    _sign_in()
    assert len(_told(coach)) == 2
    assert [entry["object_id"] for entry in _told(neighbour)] == [str(joined.id)]


def test_an_unknown_address_is_of_no_business(coach: Cast) -> None:
    _sign_in(email="nobody@northern-iron.example")
    assert _told(coach, NOON + timedelta(hours=1)) == []
    assert SignInAttempt.objects.filter(person_id=None).count() == 1


def test_each_reason_has_its_word(coach: Cast) -> None:
    coach.coach.person.is_active = False
    coach.coach.person.save()
    _sign_in(PASSWORD)
    _sign_in("wrong")
    assert {entry["values"]["reason"] for entry in _told(coach)} == {"not_let_in", "wrong_password"}


def test_someone_who_is_let_in_is_no_refusal(coach: Cast) -> None:
    assert _sign_in(PASSWORD) == 201
    assert _told(coach, NOON + timedelta(hours=1)) == []


def test_a_business_that_the_person_left_is_told_nothing(coach: Cast) -> None:
    with business_scope(coach.business_id):
        Membership.objects.filter(id=coach.coach.id).update(state="left")
    _sign_in()
    assert _told(coach) == []


def test_whoever_goes_on_adds_a_few_entries_and_a_sum_in_a_quarter_of_an_hour(coach: Cast) -> None:
    tried = [_sign_in(address=f"203.0.113.{n % 4}") for n in range(20)]
    assert tried == [401] * 20
    assert len(_told(coach)) == ONE_BY_ONE
    assert len(_told(coach, NOON + timedelta(minutes=14))) == ONE_BY_ONE
    *_, last = _told(coach, NOON + timedelta(minutes=15))
    assert last["values"] == {"reason": "wrong_password", "times": 20 - ONE_BY_ONE, "addresses": 4}
    assert last["address"] is None
    assert len(_told(coach, NOON + timedelta(hours=2))) == ONE_BY_ONE + 1


def test_asking_while_throttled_is_one_entry_with_its_number_once_it_is_over(coach: Cast) -> None:
    tried = [_sign_in() for _ in range(PER_ACCOUNT_AND_ADDRESS + 40)]
    assert tried[PER_ACCOUNT_AND_ADDRESS:] == [429] * 40
    throttled = [entry for entry in _told(coach) if entry["values"]["reason"] == "throttled"]
    assert throttled == []
    told = [entry["values"] for entry in _told(coach, NOON + timedelta(minutes=15))]
    assert told[-1] == {"reason": "throttled", "times": 40, "addresses": 1}
    assert SignInAttempt.objects.count() == PER_ACCOUNT_AND_ADDRESS + 1


def test_an_address_that_is_throttled_on_ever_new_accounts_fills_no_table(coach: Cast) -> None:
    for n in range(PER_ADDRESS * 3):
        _sign_in(email=f"n{n}@guess.example")
    assert SignInAttempt.objects.count() == PER_ADDRESS * 2


def _statements(email: str, **more: Any) -> tuple[int, list[str]]:
    with CaptureQueriesContext(connection) as captured:
        status = _sign_in("a guess", email=email, **more)
    return status, [_VALUE.sub("?", query["sql"]) for query in captured]


def test_known_and_unknown_accounts_cost_the_same_statements_and_one_hash(coach: Cast, settings: Any) -> None:
    """Not timed: the same expensive work in the same order takes the same time."""
    computed = count_hashes(settings)
    coach.coach.person.set_password(PASSWORD)
    coach.coach.person.save()
    seen = {}
    without_password = coach.other_coach.person.email
    for n, email in enumerate((EMAIL, "nobody@northern-iron.example", without_password, "not an address")):
        computed.clear()
        seen[email] = (_statements(email, address=f"203.0.113.{n}"), len(computed))
    (known, hashes), *others = seen.values()
    assert (known[0], hashes) == (401, 1)
    assert others == [(known, 1)] * 3


def test_known_and_unknown_accounts_are_throttled_by_the_same_statements_and_no_hash(
    coach: Cast, settings: Any
) -> None:
    computed = count_hashes(settings)
    seen = []
    for address, email in (("203.0.113.1", EMAIL), ("203.0.113.2", "nobody@northern-iron.example")):
        for _ in range(PER_ACCOUNT_AND_ADDRESS):
            _sign_in(email=email, address=address)
        computed.clear()
        # The first of a quarter of an hour is kept, later ones are counted with it.
        seen.append([_statements(email, address=address) for _ in range(2)])
        assert computed == []
    assert seen[0] == seen[1]
    assert [status for status, _statement in seen[0]] == [429, 429]


def test_a_right_password_whose_code_never_came_is_told_and_an_ordinary_sign_in_is_not(coach: Cast, clock: Any) -> None:
    member = Member(coach.coach).enrol()
    clock.shift(timedelta(minutes=15))
    assert member.sign_in().status_code == 401
    assert member.sign_in(code=member.code()).status_code == 201
    assert member.sign_in(address="203.0.113.9").status_code == 401
    told = _told(coach, NOON + timedelta(minutes=45))
    assert [(entry["address"], entry["values"]) for entry in told] == [("203.0.113.9", {"reason": "code_missing"})]


def test_a_wrong_code_and_a_wrong_password_in_an_open_session_are_told_too(coach: Cast) -> None:
    member = Member(coach.coach).enrol()
    member.sign_in(code="000000")
    assert member.prove("turn-off", "000000").status_code == 400
    assert member.prove("turn-off", "000000", password="wrong").status_code == 400
    told = _told(coach)
    assert [entry["values"]["reason"] for entry in told] == ["wrong_code", "wrong_code", "wrong_password"]
    session = member.api.get("/api/v1/me").json()["credential"]
    assert [str(entry["credential_id"] or "") for entry in told] == ["", session, session]


def test_the_owner_finds_them_in_the_list(coach: Cast) -> None:
    _sign_in()
    _tick(NOON)
    answer = coach.api(coach.owner).get("/api/v1/audit-entries?operation=sessions.refused").json()
    assert [(item["actor_kind"], item["actor_id"]) for item in answer["items"]] == [("unknown", None)]
