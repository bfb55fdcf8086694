"""Credentials: what is good, what ends them, and what they leave behind."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.core.exceptions import ImproperlyConfigured
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coaching.actions.api_keys import create_api_key
from coaching.embedded.environment import held_servers
from coaching.embedded.roles import BACKUP
from coaching.models import ApiKey, Business, Membership, SessionToken
from coaching.policy import OPERATIONS, Scope
from coaching.tenancy.scope import business_scope
from coaching.tenancy.service_role import role_fault
from tests.scenario import NOON, Cast, signed_in

ME = "/api/v1/me"


def _key(cast: Cast, **more: Any) -> tuple[Any, str]:
    with business_scope(cast.business_id):
        return create_api_key(created_by=cast.owner.id, name="App", scopes=["clients:read"], **more)


def test_a_key_says_who_it_is(cast: Cast) -> None:
    key, secret = _key(cast, client_ids=[cast.anna.id])
    me = signed_in(secret).get(ME).json()
    assert me["kind"] == "key"
    assert me["business"]["id"] == str(cast.business_id)
    assert (me["scopes"], me["client_ids"]) == (["clients:read"], [str(cast.anna.id)])
    assert me["operations"] == sorted(
        name for name, entry in OPERATIONS.items() if entry.anyone or Scope.CLIENTS_READ in entry.scopes
    )
    assert (me["person"], me["role"], me["coach"]) == (None, None, None)
    assert me["credential"] == str(key.id)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda secret: secret[:-1],
        lambda secret: secret + "x",
        lambda secret: secret[:-1] + ("a" if secret[-1] != "a" else "b"),
        lambda secret: f"cp_zzzzzzzz_{secret.split('_', 2)[2]}",
        lambda secret: secret.split("_", 2)[2],
        lambda secret: "cp_",
        lambda secret: "cp__",
        lambda secret: secret.upper(),
    ],
    ids=["truncated", "longer", "last letter", "other prefix", "no prefix", "bare", "barer", "upper case"],
)
def test_a_spoilt_key_is_refused(cast: Cast, spoil: Any) -> None:
    _row, secret = _key(cast)
    assert signed_in(secret).get(ME).status_code == 200
    answer = signed_in(spoil(secret)).get(ME)
    assert answer.status_code == 401
    assert secret not in answer.content.decode()


def test_a_key_ends_when_revoked_expired_or_its_business_closed(cast: Cast) -> None:
    key, secret = _key(cast, expires_at=NOON + timedelta(hours=1))
    with time_machine.travel(NOON, tick=False):
        assert signed_in(secret).get(ME).status_code == 200
    with time_machine.travel(NOON + timedelta(hours=1), tick=False):
        assert signed_in(secret).get(ME).status_code == 401
    with business_scope(cast.business_id):
        ApiKey.objects.filter(id=key.id).update(expires_at=None, revoked_at=timezone.now())
    assert signed_in(secret).get(ME).status_code == 401
    with business_scope(cast.business_id):
        ApiKey.objects.filter(id=key.id).update(revoked_at=None)
        Business.objects.update(state="closed")
    assert signed_in(secret).get(ME).status_code == 401


def test_a_keys_use_is_noted_at_most_once_a_minute(cast: Cast) -> None:
    key, secret = _key(cast)

    def last_used() -> datetime | None:
        with business_scope(cast.business_id):
            return ApiKey.objects.values_list("last_used_at", flat=True).get(id=key.id)

    for later_s, noted_s in ((0, 0), (30, 0), (61, 61)):
        with time_machine.travel(NOON + timedelta(seconds=later_s), tick=False):
            signed_in(secret).get(ME)
        assert last_used() == NOON + timedelta(seconds=noted_s)


def test_a_session_ends_with_its_token_its_membership_or_its_business(cast: Cast) -> None:
    api = cast.api(cast.coach)
    assert api.get(ME).json()["role"] == "coach"
    with business_scope(cast.business_id):
        Membership.objects.filter(id=cast.coach.id).update(state="left")
    assert api.get(ME).status_code == 401
    with business_scope(cast.business_id):
        Membership.objects.filter(id=cast.coach.id).update(state="active")
        Business.objects.update(state="closed")
    assert api.get(ME).status_code == 401
    with business_scope(cast.business_id):
        Business.objects.update(state="active")
    SessionToken.objects.filter(membership_id=cast.coach.id).update(expiry=datetime(2020, 1, 1, tzinfo=UTC))
    assert api.get(ME).status_code == 401


def test_a_person_switched_off_is_refused(cast: Cast) -> None:
    api = cast.api(cast.coach)
    cast.coach.person.is_active = False
    cast.coach.person.save()
    assert api.get(ME).status_code == 401


def test_a_role_is_read_at_each_request(cast: Cast) -> None:
    api = cast.api(cast.coach)
    with business_scope(cast.business_id):
        Membership.objects.filter(id=cast.coach.id).update(role="viewer")
    assert api.post("/api/v1/clients", {"name": "Dora"}, format="json").status_code == 403


def test_no_secret_is_kept_as_it_is(cast: Cast) -> None:
    _row, secret = _key(cast)
    cast.api(cast.owner)
    token = cast.tokens[cast.owner.id]
    with business_scope(cast.business_id), connection.cursor() as cursor:
        for table in ("coaching_apikey", "coaching_sessiontoken"):
            cursor.execute(f"SELECT string_agg({table}::text, ' ') FROM {table}")
            text = cursor.fetchone()[0]
            assert secret not in text
            assert secret.split("_", 2)[2] not in text
            assert token not in text


def test_a_request_under_a_key_spends_few_statements_on_itself(cast: Cast) -> None:
    _row, secret = _key(cast)
    api = signed_in(secret)
    api.get(ME)
    with CaptureQueriesContext(connection) as captured:
        api.get("/api/v1/clients")
    told = [query["sql"].split()[0] for query in captured if "SAVEPOINT" not in query["sql"]]
    # The key, the business set, the page; the last set_config takes the setting back inside the test's transaction.
    assert len(told) == 4, [query["sql"] for query in captured]


def test_the_services_role_is_bound_by_row_level_security(db: None) -> None:
    assert role_fault(connection) is None


def test_a_connection_that_nothing_binds_is_refused_with_a_sentence(db: None) -> None:
    """The role that makes backups reads all rows; elsewhere than on the embedded servers, the owner's role is asked."""
    embedded = held_servers() is not None
    other = connection.copy()
    owner = connections["owner"].settings_dict
    other.settings_dict |= {"USER": BACKUP} if embedded else {name: owner[name] for name in ("USER", "PASSWORD")}
    try:
        fault = role_fault(other)
    except ImproperlyConfigured as refused:
        fault = str(refused)
    other.close()
    assert fault is None or other.settings_dict["USER"] in fault
    assert not embedded or "BYPASSRLS" in (fault or "")
