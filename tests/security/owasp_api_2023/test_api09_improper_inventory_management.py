"""API9:2023. There is one version, and every path that answers is in the schema: nothing old, hidden or half-made.

Also behind it: `tests/coaching/test_policy.py` (each method of each path is an operation of the table) and
`tests/coaching/http/test_schema.py`.
"""

import re
from typing import Any, Final

import pytest
from django.test import Client as Browser
from django.urls import URLPattern, URLResolver, get_resolver
from drf_spectacular.generators import SchemaGenerator

from coaching.policy import OPERATIONS
from tests.coaching.test_policy import VIEWS, WITHOUT_OPERATIONS
from tests.scenario import Cast
from tests.security.answers import fault_of
from tests.security.operations import CALLED

METHODS: Final = ("GET", "POST", "PUT", "PATCH", "DELETE")

OUTSIDE: Final = {
    "account/invitations/(?P<token>[A-Za-z0-9_:.-]{1,600})": "the form that the mail of an invitation links to",
    "account/password-resets/(?P<token>[A-Za-z0-9_:.-]{1,600})": "the form that the mail of a reset links to",
    "docs": "the contract's pages",
    "docs/problems": "the kinds of problem",
    "docs/problems/(?P<code>[a-z_]+)": "one kind of problem",
    "healthz": "the operator's probe",
    "healthz/detection": "the operator's probe of what falls due",
    "readyz": "the operator's probe",
}
"""Paths outside the API, each with its reason."""


@pytest.fixture(scope="module")
def document() -> Any:
    return SchemaGenerator().get_schema(request=None, public=True)


def _documented(document: Any) -> set[tuple[str, str]]:
    return {
        (re.sub(r"\{\w+\}", "{}", path), method.upper())
        for path, methods in document["paths"].items()
        for method in methods
        if method.upper() in METHODS
    }


def _served() -> set[tuple[str, str]]:
    return {
        ("/" + re.sub(r"<\w+:\w+>", "{}", path.removesuffix("/?$").removesuffix("/?\\Z")), method)
        for path, view in VIEWS
        if path not in WITHOUT_OPERATIONS
        for method in view.operations
    }


def test_what_is_served_is_what_is_documented(document: Any) -> None:
    assert _documented(document) == _served()


def test_every_operation_of_the_table_has_a_path() -> None:
    assert set(CALLED) == set(OPERATIONS)


def test_each_path_outside_the_api_has_its_reason() -> None:
    found = set()

    def walk(patterns: list[Any], prefix: str) -> None:
        for pattern in patterns:
            path = prefix + str(pattern.pattern).lstrip("^")
            if isinstance(pattern, URLResolver):
                walk(pattern.url_patterns, path)
            elif isinstance(pattern, URLPattern) and not path.startswith("api/v1"):
                found.add(re.sub(r"(/\?)?\\?[$Z]?$", "", path))

    walk(get_resolver().url_patterns, "")
    assert found == set(OUTSIDE)


@pytest.mark.parametrize(
    "path",
    [
        "/api",
        "/api/",
        "/api/v0/me",
        "/api/v2/me",
        "/api/v1",
        "/api/v1/",
        "/v1/me",
        "/api/me",
        "/api/v1.0/me",
        "/api/beta/me",
        "/api/internal/me",
        "/api/v1/openapi.json",
        "/swagger",
        "/graphql",
        "/api/v1/graphql",
        "/test",
        "/api/v1/debug",
        "/api/v1/admin",
        "/login",
        "/accounts/login/",
        "/metrics/",
    ],
)
def test_no_other_version_or_back_door_answers(path: str, db: None) -> None:
    answer = Browser().get(path)
    assert (answer.status_code, fault_of(answer)) == (404, None)


def test_a_method_that_a_path_does_not_document_is_405_and_changes_nothing(
    cast: Cast, world: dict[str, str], document: Any
) -> None:
    from tests.architecture.checksums import row_checksums
    from tests.architecture.world import address

    api, before, wrong = cast.api(cast.owner), row_checksums(cast.business_id), {}
    for path, view in VIEWS:
        if path in WITHOUT_OPERATIONS:
            continue
        for method in (*METHODS, "OPTIONS", "TRACE"):
            if method in view.operations:
                continue
            answer = api.generic(method, address(path, world), "{}", content_type="application/json", HTTP_IF_MATCH="*")
            if (
                answer.status_code != 405
                or answer.headers["Allow"] != ", ".join(sorted(view.operations))
                or fault_of(answer)
            ):
                wrong[f"{method} {path}"] = answer.status_code
    assert wrong == {}
    assert row_checksums(cast.business_id) == before
