"""A second factor: set up, asked for, used once, turned off, and required by a business."""

import base64
from collections.abc import Iterator
from datetime import timedelta
from threading import Barrier, Thread
from typing import Any
from uuid import UUID

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection, connections
from rest_framework.test import APIClient

from coaching.actions.second_factors import reseal_second_factors
from coaching.actions.sign_in_attempts import PER_ACCOUNT, PER_ACCOUNT_AND_ADDRESS
from coaching.models import AuditEntry, Membership, RecoveryCode, SecondFactor, SessionToken
from coaching.one_time_codes import code_of_step, step_at
from coaching.policy import OPERATIONS, OWN_ACCOUNT, Scope
from coaching.tenancy.scope import business_scope
from tests.scenario import NOON, Cast, build_business, signed_in
from tests.second_factors import PASSWORD, PATH, Member, with_password


@pytest.fixture
def clock() -> Iterator[Any]:
    """A clock that stands still until it is moved."""
    with time_machine.travel(NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def coach(clock: Any, cast: Cast) -> Member:
    """The cast's coach, with a password."""
    return with_password(cast.coach)


def _next_code(clock: Any) -> None:
    clock.shift(timedelta(seconds=30))


def test_setting_one_up_shows_the_secret_and_the_recovery_codes_once(coach: Member) -> None:
    coach.enrol()
    assert len(set(coach.recovery_codes)) == 10
    state = coach.api.get(PATH)
    assert state.json() == {
        "stands": True,
        "since": "2031-03-05T12:00:00+00:00",
        "recovery_codes_left": 10,
        "required": False,
    }
    again = coach.api.post(PATH, {"password": PASSWORD}, format="json")
    assert (again.status_code, again.json()["code"]) == (409, "second_factor_stands")


def test_until_a_first_code_confirms_it_signing_in_asks_for_none(coach: Member) -> None:
    coach.token = coach.sign_in().json()["token"]
    coach.api.post(PATH, {"password": PASSWORD}, format="json")
    wrong = coach.api.post(f"{PATH}/confirm", {"code": "000000"}, format="json")
    assert (wrong.status_code, wrong.json()["code"]) == (400, "wrong_code")
    assert coach.api.get(PATH).json()["stands"] is False
    assert coach.sign_in().status_code == 201


def test_starting_again_makes_the_secret_before_it_void(coach: Member) -> None:
    coach.token = coach.sign_in().json()["token"]
    secrets = [
        base64.b32decode(coach.api.post(PATH, {"password": PASSWORD}, format="json").json()["secret"]) for _ in range(2)
    ]
    answers = [
        coach.api.post(f"{PATH}/confirm", {"code": code_of_step(secret, step_at(NOON))}, format="json").status_code
        for secret in secrets
    ]
    assert answers == [400, 200]


def test_nothing_is_confirmed_that_was_not_started(coach: Member) -> None:
    coach.token = coach.sign_in().json()["token"]
    answer = coach.api.post(f"{PATH}/confirm", {"code": "000000"}, format="json")
    assert (answer.status_code, answer.json()["code"]) == (409, "no_second_factor")


def test_signing_in_asks_for_the_code_only_after_the_right_password(coach: Member, clock: Any) -> None:
    coach.enrol()
    _next_code(clock)
    asked = coach.sign_in()
    assert (asked.status_code, asked.json()["code"]) == (401, "second_factor_required")
    assert "WWW-Authenticate" in asked.headers
    for more in ({}, {"code": coach.code()}, {"code": "000000"}):
        wrong = coach.sign_in("wrong", **more)
        assert (wrong.status_code, wrong.json()["code"]) == (401, "unauthenticated")
    assert coach.sign_in(code=coach.code()).status_code == 201


def test_each_code_of_the_app_is_taken_once(coach: Member, clock: Any) -> None:
    coach.enrol()
    # The code that confirmed it was its one use.
    refused = coach.sign_in(code=coach.code())
    assert (refused.status_code, refused.json()["code"]) == (401, "second_factor_refused")
    _next_code(clock)
    seen = coach.code()
    assert coach.sign_in(code=seen).status_code == 201
    assert coach.sign_in(code=seen).status_code == 401
    # Nor one of a step before it, which drift would still admit.
    assert coach.sign_in(code=coach.code(-1)).status_code == 401
    assert coach.sign_in(code=coach.code(+1)).status_code == 201


def test_a_recovery_code_stands_in_for_the_app_once(coach: Member) -> None:
    coach.enrol()
    first, second = coach.recovery_codes[:2]
    assert coach.sign_in(code=first.upper()).status_code == 201
    assert coach.sign_in(code=first).status_code == 401
    assert coach.sign_in(code=second.replace("-", " ")).status_code == 201
    assert coach.api.get(PATH).json()["recovery_codes_left"] == 8


def test_a_new_set_makes_the_old_recovery_codes_void(coach: Member, clock: Any) -> None:
    coach.enrol()
    _next_code(clock)
    assert coach.prove("recovery-codes", coach.code(), password="wrong").json()["code"] == "wrong_password"
    renewed = coach.prove("recovery-codes", coach.code())
    assert len(renewed.json()["recovery_codes"]) == 10
    assert coach.sign_in(code=coach.recovery_codes[0]).status_code == 401
    assert coach.sign_in(code=renewed.json()["recovery_codes"][0]).status_code == 201


def test_turning_it_off_takes_the_password_and_a_code(coach: Member) -> None:
    coach.enrol()
    assert coach.prove("turn-off", coach.recovery_codes[0], password="wrong").status_code == 400
    assert coach.prove("turn-off", "000000").status_code == 400
    assert coach.sign_in().status_code == 401
    # The wrong password before it used no code up.
    assert coach.prove("turn-off", coach.recovery_codes[0]).status_code == 204
    assert coach.sign_in().status_code == 201
    assert coach.prove("turn-off", coach.recovery_codes[1]).json()["code"] == "no_second_factor"
    assert coach.api.get(PATH).json()["recovery_codes_left"] == 0


def test_turning_it_on_and_off_ends_the_other_sessions(coach: Member) -> None:
    other = signed_in(coach.sign_in().json()["token"])
    coach.enrol()
    assert other.get("/api/v1/me").status_code == 401
    other = signed_in(coach.sign_in(code=coach.recovery_codes[0]).json()["token"])
    assert other.get("/api/v1/me").status_code == 200
    coach.prove("turn-off", coach.recovery_codes[1])
    assert other.get("/api/v1/me").status_code == 401
    assert coach.api.get("/api/v1/me").status_code == 200


def test_whoever_finds_a_session_open_can_not_guess_the_password_by_it(coach: Member) -> None:
    coach.token = coach.sign_in(address="127.0.0.1").json()["token"]
    tried = [
        coach.api.post(PATH, {"password": f"guess {n}"}, format="json").status_code
        for n in range(PER_ACCOUNT_AND_ADDRESS + 1)
    ]
    assert tried == [400] * PER_ACCOUNT_AND_ADDRESS + [429]
    assert coach.api.post(PATH, {"password": PASSWORD}, format="json").status_code == 429


def test_a_person_in_several_businesses_chooses_one_without_using_a_code_up(
    coach: Member, cast: Cast, neighbour: Cast, clock: Any
) -> None:
    coach.enrol()
    _next_code(clock)
    with business_scope(neighbour.business_id):
        Membership.objects.create(person=coach.membership.person, role="viewer", time_zone="UTC")
    # Without a code not even the names of the businesses are told.
    assert "businesses" not in coach.sign_in().json()
    assert "businesses" not in coach.sign_in(code="000000").json()
    asked = coach.sign_in(code=coach.code())
    assert (asked.status_code, len(asked.json()["businesses"])) == (409, 2)
    assert coach.sign_in(code=coach.code(), business=str(neighbour.business_id)).status_code == 201


def test_wrong_codes_are_slowed_down_as_wrong_passwords_are(coach: Member) -> None:
    coach.enrol()
    tried = [coach.sign_in(code="000000", address="203.0.113.5").status_code for _ in range(6)]
    assert tried == [401] * PER_ACCOUNT_AND_ADDRESS + [429]


def test_a_stranger_who_has_the_password_guesses_few_codes_and_the_owner_still_gets_in(
    coach: Member, clock: Any
) -> None:
    coach.enrol()
    _next_code(clock)
    assert coach.sign_in(code=coach.code()).status_code == 201
    tried = {coach.sign_in(code="000000", address=f"203.0.113.{n}").status_code for n in range(PER_ACCOUNT)}
    assert tried == {401}
    assert coach.sign_in(code="000000", address="203.0.113.200").status_code == 429
    _next_code(clock)
    # From where they signed in before they get in at once; from elsewhere after a quarter of an hour.
    assert coach.sign_in(code=coach.code()).status_code == 201
    assert coach.sign_in(code=coach.code(+1), address="203.0.113.201").status_code == 429
    clock.shift(timedelta(minutes=15))
    assert coach.sign_in(code=coach.code(), address="203.0.113.201").status_code == 201


def test_asking_for_the_code_is_no_failure(coach: Member, clock: Any) -> None:
    coach.enrol()
    for _ in range(PER_ACCOUNT_AND_ADDRESS + 2):
        _next_code(clock)
        assert coach.sign_in().status_code == 401
        assert coach.sign_in(code=coach.code()).status_code == 201


def test_neither_secret_nor_recovery_code_stands_in_the_database(coach: Member) -> None:
    coach.enrol()
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT f::text FROM coaching_secondfactor f UNION ALL SELECT r::text FROM coaching_recoverycode r"
        )
        rows = " ".join(row[0] for row in cursor.fetchall()).lower()
    shown = base64.b32encode(coach.secret).decode().lower()
    secrets = {shown, coach.secret.hex(), base64.b64encode(coach.secret).decode().lower(), *coach.recovery_codes}
    assert [secret for secret in secrets if secret in rows or secret.replace("-", "") in rows] == []


def test_after_a_change_of_the_secret_key_the_old_one_can_go_once_the_night_has_resealed(
    coach: Member, cast: Cast, settings: Any, clock: Any
) -> None:
    coach.enrol()
    old = settings.SECRET_KEY
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "a new key of the operator " * 3, [old]
    _next_code(clock)
    assert coach.sign_in(code=coach.code()).status_code == 201
    reseal_second_factors(cast.business_id, NOON)
    settings.SECRET_KEY_FALLBACKS = []
    _next_code(clock)
    assert coach.sign_in(code=coach.code()).status_code == 201


def _require(cast: Cast, rule: str, api: APIClient | None = None) -> Any:
    api = api or cast.api(cast.owner)
    sent = {"second_factor_required": rule}
    return api.patch("/api/v1/business", sent, format="json", HTTP_IF_MATCH="*")


@pytest.fixture
def owner(clock: Any, cast: Cast) -> Member:
    """The cast's owner, with a second factor."""
    return with_password(cast.owner).enrol()


def test_an_owner_without_one_can_not_require_it_of_others(cast: Cast) -> None:
    refused = _require(cast, "staff")
    assert (refused.status_code, refused.json()["code"]) == (409, "own_second_factor_first")
    assert cast.api(cast.owner).get("/api/v1/business").json()["second_factor_required"] == "none"
    assert _require(cast, "none").status_code == 200
    assert _require(cast, "staff", cast.api(cast.head)).status_code == 403


def test_the_rule_stands_in_the_trail_with_its_value(cast: Cast, owner: Member) -> None:
    assert _require(cast, "staff", owner.api).status_code == 200
    (entry,) = owner.api.get("/api/v1/audit-entries?operation=business.update").json()["items"]
    assert entry["values"] == {"second_factor_required": "staff"}


def test_a_member_without_the_one_required_can_look_after_their_account_and_nothing_else(
    cast: Cast, owner: Member
) -> None:
    before = cast.api(cast.coach)
    assert before.get("/api/v1/clients").status_code == 200
    _require(cast, "staff", owner.api)
    coach = with_password(cast.coach)
    opened = coach.sign_in().json()
    assert opened["needs_second_factor"] is True
    assert signed_in(opened["token"]).get("/api/v1/me").json()["needs_second_factor"] is True
    for api in (before, signed_in(opened["token"])):
        refused = api.get("/api/v1/clients")
        assert (refused.status_code, refused.json()["code"]) == (403, "second_factor_needed")
        assert "/api/v1/me/second-factor" in refused.json()["detail"]
        assert {name.split(".")[0] for name in api.get("/api/v1/me").json()["operations"]} <= OWN_ACCOUNT | {
            name.split(".")[0] for name, entry in OPERATIONS.items() if entry.anyone
        }
        assert api.get("/api/v1/sessions").status_code == 200
    # What the role lacks is refused as before.
    assert before.get("/api/v1/audit-entries").json()["code"] == "forbidden"
    coach.token = opened["token"]
    assert coach.api.get(PATH).json()["required"] is True
    coach.enrol()
    assert coach.api.get("/api/v1/clients").status_code == 200
    assert coach.sign_in(code=coach.recovery_codes[0]).json()["needs_second_factor"] is False


def test_the_rule_covers_clients_only_where_it_says_everyone(cast: Cast, owner: Member) -> None:
    client = cast.api(cast.client_member)
    for rule, status in (("staff", 200), ("everyone", 403), ("none", 200)):
        assert _require(cast, rule, owner.api).status_code == 200
        assert client.get("/api/v1/planned-sessions").status_code == status, rule


def test_keys_of_programs_are_not_touched_by_the_rule(cast: Cast, owner: Member) -> None:
    key = cast.key(Scope.CLIENTS_READ)
    _require(cast, "everyone", owner.api)
    assert key.get("/api/v1/clients").status_code == 200
    assert key.get(PATH).status_code == 403


def test_the_rule_of_one_business_is_nothing_to_another(cast: Cast, neighbour: Cast, owner: Member) -> None:
    _require(cast, "everyone", owner.api)
    assert neighbour.api(neighbour.coach).get("/api/v1/clients").status_code == 200


def _at_once(members: list[Member], codes: list[str]) -> list[int]:
    barrier, seen = Barrier(len(codes)), []

    def attempt(member: Member, code: str) -> None:
        barrier.wait()
        try:
            seen.append(member.sign_in(code=code, address="203.0.113.77").status_code)
        finally:
            connections.close_all()

    threads = [Thread(target=attempt, args=pair) for pair in zip(members, codes, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(seen)


@pytest.mark.parametrize("kind", ["app", "recovery"])
def test_of_many_who_bring_the_same_code_at_once_one_is_let_in(clock: Any, committed: None, kind: str) -> None:
    coach = with_password(build_business("Northern Iron").coach).enrol()
    _next_code(clock)
    code = coach.code() if kind == "app" else coach.recovery_codes[0]
    # No more than the limit of failures at once, so that it is the code that decides.
    assert _at_once([coach] * 4, [code] * 4) == [201, 401, 401, 401]
    assert SessionToken.objects.filter(user=coach.membership.person).count() == 2


def test_what_was_done_stands_in_the_trail_without_secrets(coach: Member, cast: Cast) -> None:
    coach.enrol()
    coach.prove("turn-off", coach.recovery_codes[0])
    with business_scope(cast.business_id):
        rows = list(AuditEntry.objects.order_by("at", "id").values_list("operation", "actor_id", "fields", "values"))
    mine: UUID = coach.membership.id
    assert rows == [
        ("sessions.create", mine, [], {}),
        ("second_factor.start", mine, ["password"], {}),
        ("second_factor.confirm", mine, ["code"], {}),
        ("second_factor.turn_off", mine, ["code", "password"], {}),
    ]
    assert not SecondFactor.objects.exists()


def test_an_operator_lets_somebody_back_in_who_lost_app_and_codes(coach: Member, cast: Cast) -> None:
    coach.enrol()
    call_command("reset_second_factor", email=coach.email.upper())
    assert coach.api.get("/api/v1/me").status_code == 401
    assert coach.sign_in().status_code == 201
    with business_scope(cast.business_id):
        told = AuditEntry.objects.filter(operation="second_factor.reset").values_list("actor_kind", "object_id")
        assert list(told) == [("operator", str(coach.membership.id))]
    with pytest.raises(CommandError, match="No account of this address"):
        call_command("reset_second_factor", email=coach.email)


def test_the_second_factor_goes_with_an_erased_client(cast: Cast, clock: Any) -> None:
    anna = with_password(cast.client_member).enrol()
    path = f"/api/v1/clients/{cast.anna.id}/erasure"
    erased = cast.api(cast.owner).post(path, {"confirm": "Anna"}, format="json")
    assert erased.status_code == 200, erased.content
    assert anna.sign_in().status_code == 401
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    assert (SecondFactor.objects.count(), RecoveryCode.objects.count()) == (0, 0)
