"""API5:2023. Who may call an operation stands in one table; no spelling of the request leads past it.

Every operation as every role, scope and stranger is compared with the table in `tests/architecture` and
`tests/coaching/test_policy.py`; here stand the ways round it.
"""

from typing import Final

import pytest

from coaching.policy import OPERATIONS, Scope
from tests.scenario import Cast
from tests.security.operations import CALLED, attack

OWNERS_ONLY: Final = sorted(
    name for name, entry in OPERATIONS.items() if [role.value for role in entry.roles] == ["owner"] and name in CALLED
)


def test_there_are_operations_of_the_owner_alone() -> None:
    assert len(OWNERS_ONLY) >= 6


@pytest.mark.parametrize("operation", OWNERS_ONLY)
def test_no_header_or_parameter_makes_an_owner_of_a_head_coach(
    operation: str, cast: Cast, world: dict[str, str]
) -> None:
    call, api = CALLED[operation], cast.api(cast.head)
    assert attack(api, call, world).status_code == 403
    for headers in (
        {"X-Http-Method-Override": "GET"},
        {"X-Role": "owner"},
        {"X-User-Role": "owner"},
        {"X-Original-Url": "/api/v1/me"},
        {"X-Forwarded-User": "olga"},
        {"X-Business-Id": world["business_id"]},
        {"Cookie": "role=owner; admin=1"},
        {"Origin": "https://localhost"},
        {"Referer": "https://localhost/admin"},
        {"X-Forwarded-For": "127.0.0.1"},
    ):
        assert attack(api, call, world, headers=headers).status_code == 403, headers
    for query in ("role=owner", "admin=true", "_method=GET", "membership=" + str(cast.owner.id)):
        assert attack(api, call, world, query=query).status_code in {400, 403}, query


def test_no_spelling_of_a_path_leads_past_the_table(cast: Cast) -> None:
    head, owner = cast.api(cast.head), cast.api(cast.owner)
    assert owner.get("/api/v1/api-keys").status_code == 200
    for path in (
        "/api/v1/api-keys",
        "/api/v1/api-keys/",
        "//api/v1/api-keys",
        "/api/v1//api-keys",
        "/api/v1/./api-keys",
        "/api/v1/clients/../api-keys",
        "/api/v1/api-keys/.",
        "/api/v1/API-KEYS",
        "/api/v1/api-keys;a=b",
        "/api/v1/api-keys%2f",
        "/api/v1/api%2dkeys",
        "/api/v1/api-keys%00",
        "/api/v1/api-keys?",
        "/api/v1/api-keys.json",
        "/API/V1/api-keys",
        "/api/v1/api-keys%20",
        "/api/v1/me/../api-keys",
        "/api/v1/api-keys#",
        "/api/v1/api-keys//",
    ):
        answer = head.get(path)
        assert answer.status_code in {400, 403, 404}, (path, answer.status_code)


def test_head_is_refused_where_get_is(cast: Cast, world: dict[str, str]) -> None:
    api = cast.api(cast.client_member)
    for operation, call in CALLED.items():
        if call.method == "GET":
            got, headed = api.get(call.address(world)), api.head(call.address(world))
            assert got.status_code == headed.status_code, operation
            assert headed.content == b"", operation


@pytest.mark.parametrize("scope", list(Scope))
def test_a_key_of_one_scope_calls_what_the_table_says_and_no_more(
    scope: Scope, cast: Cast, world: dict[str, str]
) -> None:
    api, wrong = cast.key(scope.value), {}
    for operation, call in CALLED.items():
        entry = OPERATIONS[operation]
        if entry.anyone:
            continue
        answer = attack(api, call, world)
        if (answer.status_code == 403) == (scope in entry.scopes):
            wrong[operation] = answer.status_code
    assert wrong == {}
