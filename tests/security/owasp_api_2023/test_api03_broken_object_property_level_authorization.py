"""API3:2023. Each operation takes and shows the fields that it declares for its caller, and no others.

The attacks are made from the schema: every field of an answer, and every column of every table, is sent to every
operation that does not declare it.
"""

from collections.abc import Iterator
from typing import Any, Final

import pytest
from django.apps import apps
from drf_spectacular.generators import SchemaGenerator

from tests.architecture.calls import BODIES
from tests.architecture.checksums import row_checksums
from tests.scenario import Cast
from tests.security.operations import CALLED, attack

COLUMNS: Final = frozenset(
    field.name for model in apps.get_models() for field in model._meta.get_fields() if field.concrete
) | {f"{name}_id" for name in ("business", "client", "coach", "person", "membership")}
PRIVILEGES: Final = frozenset({"is_staff", "is_superuser", "is_active", "role", "scopes", "permissions", "__class__"})

UPLOADS: Final = frozenset({"log_imports.create"})
"""Operations whose body is a file."""

UNTOLD: Final = frozenset({"source"})
"""What the operations of single logs take without saying so: the source that their batch would name."""

SECRETS: Final = frozenset(
    {"password", "secret", "token", "token_key", "key_digest", "business_id", "hash", "auth_token", "key_hash"}
)


@pytest.fixture(scope="module")
def document() -> Any:
    return SchemaGenerator().get_schema(request=None, public=True)


def _operation(document: Any, name: str) -> Any:
    wanted = name.replace(".", "_")
    return next(o for path in document["paths"].values() for o in path.values() if o.get("operationId") == wanted)


def _resolved(document: Any, schema: Any) -> Any:
    while "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    return schema


def _fields(document: Any, schema: Any) -> set[str]:
    resolved = _resolved(document, schema)
    found = set(resolved.get("properties", {}))
    for part in resolved.get("oneOf", []) + resolved.get("allOf", []) + resolved.get("anyOf", []):
        found |= _fields(document, part)
    return found


def _taken(document: Any, name: str) -> set[str]:
    content = _operation(document, name).get("requestBody", {}).get("content", {})
    return set().union(*(_fields(document, media["schema"]) for media in content.values())) if content else set()


def _shown(document: Any, name: str) -> set[str]:
    found: set[str] = set()
    for status, response in _operation(document, name)["responses"].items():
        for media in response.get("content", {}).values() if status < "300" else ():
            found |= _fields(document, media["schema"])
    return found


def test_no_operation_takes_a_field_that_it_only_shows_or_only_stores(
    document: Any, cast: Cast, world: dict[str, str]
) -> None:
    api, before, taken = cast.api(cast.owner), row_checksums(cast.business_id), {}
    for operation in sorted(set(BODIES) - UPLOADS):
        extra = (_shown(document, operation) | COLUMNS | PRIVILEGES) - UNTOLD - _taken(document, operation)
        body = BODIES[operation](world)
        answer = attack(api, CALLED[operation], world, body={**{name: _forged(name) for name in extra}, **body})
        if answer.status_code != 400:
            taken[operation] = (answer.status_code, answer.content[:300])
            continue
        told = {fault["pointer"] for fault in answer.json()["errors"]}
        # A reader that stops at its first fault is asked for each field alone.
        alone = sorted(PRIVILEGES & extra) if len(told) < len(extra) else ()
        for name in [name for name in alone if f"#/{name}" not in told]:
            single = attack(api, CALLED[operation], world, body={name: _forged(name), **body})
            if single.status_code != 400:
                taken[f"{operation} {name}"] = (single.status_code, single.content[:300])
    assert not taken, "\n".join(f"{operation}: {said}" for operation, said in taken.items())
    assert row_checksums(cast.business_id) == before


def _forged(name: str) -> Any:
    return "owner" if name == "role" else "01a21352-588c-740b-8ea8-c9fff99409a6"


def test_no_item_of_a_batch_takes_a_field_that_is_the_services(cast: Cast, world: dict[str, str]) -> None:
    good = BODIES["log_batches.create"](world)
    for kind in ("session_logs", "set_logs", "check_ins"):
        for name in (
            "id",
            "business_id",
            "created_at",
            "row_version",
            "planned_session_id",
            "source",
            "estimated_max_kg",
        ):
            item = {**good[kind][0], name: "1"}
            answer = attack(cast.api(cast.owner), CALLED["log_batches.create"], world, body={kind: [item]})
            assert [entry["outcome"] for entry in answer.json()["items"]] == ["refused"], (kind, name)


def test_nobody_makes_more_of_themselves_than_they_are(cast: Cast) -> None:
    head, path = cast.api(cast.head), f"/api/v1/coaches/{cast.head.id}"
    assert head.patch(path, {"role": "owner"}, format="json", HTTP_IF_MATCH="*").status_code == 403
    own = cast.api(cast.client_member)
    for field, value in {"coach": str(cast.other_coach.id), "membership": str(cast.owner.id), "name": "X"}.items():
        changed = own.patch(f"/api/v1/clients/{cast.anna.id}", {field: value}, format="json", HTTP_IF_MATCH="*")
        assert changed.status_code == 403, field
    key = cast.key("logs:write")
    assert key.post("/api/v1/api-keys", {"name": "Own", "scopes": ["clients:read"]}, format="json").status_code == 403


@pytest.mark.parametrize("who", ["owner", "head", "coach", "viewer", "client_member"])
def test_no_answer_shows_a_field_that_is_not_documented_or_is_a_secret(
    who: str, document: Any, cast: Cast, world: dict[str, str]
) -> None:
    api, found, answered = cast.api(getattr(cast, who)), {}, 0
    for operation, call in CALLED.items():
        if call.method != "GET":
            continue
        answer = attack(api, call, world)
        if answer.status_code != 200 or answer.headers["Content-Type"] != "application/json":
            continue
        answered += 1
        undocumented = set(answer.json()) - _shown(document, operation)
        secrets = set(_keys(answer.json())) & SECRETS
        if undocumented or secrets:
            found[operation] = (undocumented, secrets)
    assert answered >= 20
    assert found == {}


def _keys(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        yield from value
        value = list(value.values())
    for item in value if isinstance(value, list) else ():
        yield from _keys(item)
