"""The OpenAPI document: valid, without warnings, and the same inventory as the URL conf."""

import io
import json
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from openapi_spec_validator import validate

from coaching.policy import OPERATIONS


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The document as the command writes it; a warning fails."""
    out = io.StringIO()
    call_command("spectacular", "--format", "openapi-json", "--validate", "--fail-on-warn", stdout=out)
    found: dict[str, Any] = json.loads(out.getvalue())
    return found


def _operations(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [operation for methods in document["paths"].values() for operation in methods.values()]


def test_the_document_is_valid_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"].startswith("3.1")
    assert '"nullable"' not in json.dumps(document)
    validate(document)


def test_each_operation_is_one_of_the_policy_and_stands_once(document: dict[str, Any]) -> None:
    named = [operation["operationId"] for operation in _operations(document)]
    assert len(named) == len(set(named))
    assert set(named) <= {name.replace(".", "_") for name in OPERATIONS}


def test_each_operation_documents_its_problems_and_its_callers(document: dict[str, Any]) -> None:
    for operation in _operations(document):
        refusals = {status for status in operation["responses"] if status >= "400"}
        assert {"400", "401", "405", "500", "503"} <= refusals, operation["operationId"]
        assert "Roles:" in operation["description"] or "Anyone" in operation["description"]


def test_only_signing_in_and_links_of_mails_need_no_credential(document: dict[str, Any]) -> None:
    open_ones = sorted(o["operationId"] for o in _operations(document) if not o.get("security"))
    assert open_ones == ["invitations_accept", "password_resets_confirm", "password_resets_create", "sessions_create"]


def test_the_schema_and_its_pages_are_served_from_here(client: Client) -> None:
    """No `db` fixture: a query would fail the test."""
    assert client.get("/api/v1/schema").json()["openapi"].startswith("3.1")
    page = client.get("/docs")
    assert page.status_code == 200
    text = page.content.decode()
    assert "https://" not in text
    assert "'self'" in page.headers["Content-Security-Policy"]
    assert "unsafe-eval" not in page.headers["Content-Security-Policy"]
    script = client.get("/docs?script=")
    assert script.status_code == 200
    assert "https://" not in script.content.decode()
    assert '"validatorUrl": ""' in script.content.decode()
    style = client.get("/static/drf_spectacular_sidecar/swagger-ui-dist/swagger-ui.css")
    assert style.status_code == 200
    assert style.getvalue()


def test_each_operation_documents_exactly_the_callers_of_the_policy(document: dict[str, Any]) -> None:
    documented = {operation["operationId"]: operation for operation in _operations(document)}
    assert set(documented) == {name.replace(".", "_") for name in OPERATIONS}
    for name, entry in OPERATIONS.items():
        operation = documented[name.replace(".", "_")]
        if entry.anyone:
            assert not {"x-roles", "x-scopes", "security"} & set(operation), name
            assert operation["description"].endswith("Anyone may call it."), name
            continue
        assert operation["x-roles"] == sorted(entry.roles), name
        assert operation["x-scopes"] == sorted(entry.scopes), name
        kinds = [{"session": []}] * bool(entry.roles) + [{"api_key": []}] * bool(entry.scopes)
        assert operation["security"] == kinds, name
        sentence = operation["description"].rpartition("Roles: ")[2]
        roles, _scopes, scopes = sentence.removesuffix(".").partition(". Scopes of keys: ")
        assert roles.split(", ") == (sorted(map(str, entry.roles)) or ["none"]), name
        assert scopes.replace("`", "").split(", ") == (sorted(map(str, entry.scopes)) or ["none"]), name


def test_both_kinds_of_credential_are_documented_as_bearers(document: dict[str, Any]) -> None:
    schemes = document["components"]["securitySchemes"]
    assert {name: (scheme["type"], scheme["scheme"]) for name, scheme in schemes.items()} == {
        "session": ("http", "bearer"),
        "api_key": ("http", "bearer"),
    }
