"""The one table of who may do what, and that the URLs obey it."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from django.urls import URLPattern, URLResolver, get_resolver

from coaching.models import Client, Role
from coaching.policy import OPERATIONS, OWN_ACCOUNT, Principal, Scope, allows, client_rows
from coaching.tenancy.scope import business_scope
from tests.scenario import Cast


def _person(role: Role | None, **more: Any) -> Principal:
    return Principal(kind="person", business_id=uuid4(), credential_id=uuid4(), role=role, **more)


def _key(*scopes: Scope, **more: Any) -> Principal:
    return Principal(kind="key", business_id=uuid4(), credential_id=uuid4(), scopes=frozenset(scopes), **more)


def _patterns(patterns: list[Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    for pattern in patterns:
        path = prefix + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _patterns(pattern.url_patterns, path)
        elif isinstance(pattern, URLPattern):
            yield path, getattr(pattern.callback, "cls", None)


VIEWS = [(path, view) for path, view in _patterns(get_resolver().url_patterns) if path.startswith("api/v1/")]


WITHOUT_OPERATIONS = {
    "api/v1/^api/v1/schema/?$": "the contract itself: public, the same for everybody, and no business's rows",
}
"""Paths under the API that name no operation, each with its reason."""


def test_an_operation_that_is_not_in_the_table_is_for_nobody() -> None:
    assert not allows(_person(Role.OWNER), "clients.erase")
    assert not allows(_key(*Scope), "clients.erase")


@pytest.mark.parametrize("name", OPERATIONS)
def test_each_operation_is_for_its_roles_and_scopes_and_for_nobody_else(name: str) -> None:
    entry = OPERATIONS[name]
    for role in Role:
        assert allows(_person(role), name) is (entry.anyone or role in entry.roles)
    for scope in Scope:
        assert allows(_key(scope), name) is (entry.anyone or scope in entry.scopes)
    assert allows(None, name) is entry.anyone
    assert allows(_key(), name) is entry.anyone


def test_only_signing_in_and_what_a_link_sent_to_an_address_proves_is_for_anyone() -> None:
    assert {name for name, entry in OPERATIONS.items() if entry.anyone} == {
        "sessions.create",
        "password_resets.create",
        "password_resets.confirm",
        "invitations.accept",
    }


def test_writing_is_never_a_viewers() -> None:
    reading = {
        "list", "read", "analysis", "analyse", "parse", "pairings", "card", "substitutes", "preview", "diff",
        "compare", "performed_tempo", "revisions",
    }  # fmt: skip
    own = {name for name, entry in OPERATIONS.items() if entry.anyone or name.partition(".")[0] in OWN_ACCOUNT}
    viewers = {name for name in OPERATIONS if allows(_person(Role.VIEWER), name)} - own
    assert {name.split(".")[1] for name in viewers} <= reading


def test_each_method_of_each_api_path_is_an_operation_of_the_table() -> None:
    methods = {"get", "post", "put", "patch", "delete"}
    for path, view in VIEWS:
        if path in WITHOUT_OPERATIONS:
            continue
        answered = {method.upper() for method in methods if hasattr(view, method)}
        assert answered == set(view.operations), path
        assert set(view.operations.values()) <= set(OPERATIONS), path


def test_no_operation_stands_at_two_paths() -> None:
    named = [name for _path, view in VIEWS for name in getattr(view, "operations", {}).values()]
    assert len(named) == len(set(named))


@pytest.mark.parametrize("who", ["owner", "head", "coach", "viewer", "client_member"])
def test_a_caller_is_refused_exactly_what_the_table_refuses(cast: Cast, who: str) -> None:
    """Without a body or version the allowed ones fail for other reasons, but never by 401 or 403."""
    member = getattr(cast, who)
    api = cast.api(member)
    for path, view in VIEWS:
        for method, name in getattr(view, "operations", {}).items():
            address = "/" + _fill(path)
            with transaction.atomic():
                answer = api.generic(method, address, "{}" if method != "GET" else "", content_type="application/json")
                # Taken back, since some need no body: a token that was rotated is worth nothing.
                transaction.set_rollback(True)
            allowed = allows(_person(Role(member.role)), name)
            if OPERATIONS[name].anyone:
                continue
            assert (answer.status_code not in {401, 403}) is allowed, (name, who, answer.content)


def _fill(path: str) -> str:
    while "<" in path:
        before, _open, rest = path.partition("<")
        path = f"{before}{uuid4() if rest.startswith('uuid') else 'x'}{rest.partition('>')[2]}"
    return path


def test_nobody_calls_without_a_credential(db: None, client: Any) -> None:
    for path, view in VIEWS:
        for method, name in getattr(view, "operations", {}).items():
            if not OPERATIONS[name].anyone:
                assert client.generic(method, "/" + _fill(path)).status_code == 401, name


def test_the_rows_that_a_caller_sees(cast: Cast) -> None:
    def seen(principal: Principal) -> list[str]:
        return sorted(Client.objects.filter(client_rows(principal, "")).values_list("name", flat=True))

    with business_scope(cast.business_id):
        assert seen(_person(Role.OWNER)) == seen(_key()) == ["Anna", "Ben", "Carl"]
        assert seen(_person(Role.COACH, membership_id=cast.coach.id)) == ["Anna", "Ben"]
        assert seen(_person(Role.CLIENT, membership_id=cast.client_member.id)) == ["Anna"]
        assert seen(_person(Role.CLIENT, membership_id=uuid4())) == []
        assert seen(_person(None)) == []
        assert seen(_key(client_ids=frozenset({cast.ben.id}))) == ["Ben"]
        assert seen(_key(client_ids=frozenset())) == []
