"""Every refusal is a problem document of a documented kind, without stack or SQL."""

from dataclasses import dataclass, field
from typing import Any
from uuid import uuid4

import pytest
from django.db import OperationalError
from django.test import Client as Browser

from coaching.http.problem_types import PROBLEM_TYPES
from tests.scenario import Cast, signed_in

JSON = "application/json"


@dataclass(frozen=True)
class Case:
    """A request that is refused; `who` names a member of the cast, or nobody."""

    name: str
    status: int
    kind: str
    method: str
    path: str
    who: str | None = "owner"
    body: bytes | None = None
    content_type: str = JSON
    headers: dict[str, str] = field(default_factory=dict)
    told: str = ""


CLIENT = "/api/v1/clients/{anna}"
CASES = [
    Case("unknown path", 404, "not_found", "get", "/api/v1/nowhere"),
    Case("unknown path outside the API", 404, "not_found", "get", "/nowhere", who=None),
    Case("random id", 404, "not_found", "get", "/api/v1/clients/{random}"),
    Case("neighbour's id", 404, "not_found", "get", "/api/v1/clients/{neighbour}"),
    Case("no id at all", 404, "not_found", "get", "/api/v1/clients/12345678901234567890123456789"),
    Case("method not offered", 405, "method_not_allowed", "delete", "/api/v1/clients"),
    Case("trace", 405, "method_not_allowed", "trace", "/api/v1/clients"),
    Case("options", 405, "method_not_allowed", "options", "/api/v1/clients"),
    Case("form not offered", 406, "not_acceptable", "get", "/api/v1/clients", headers={"accept": "text/csv"}),
    Case("body too large", 413, "too_large", "post", "/api/v1/clients", body=b" " * (8 * 1024 * 1024 + 1)),
    Case("text body", 415, "unsupported_media_type", "post", "/api/v1/clients", body=b"x", content_type="text/plain"),
    Case(
        "form body",
        415,
        "unsupported_media_type",
        "post",
        "/api/v1/clients",
        body=b"name=A",
        content_type="application/x-www-form-urlencoded",
    ),
    Case("bad JSON", 400, "malformed", "post", "/api/v1/clients", body=b'{"name": }', told="column 10"),
    Case("NaN", 400, "malformed", "post", "/api/v1/clients", body=b'{"max_hr_bpm": NaN}'),
    Case("NUL in text", 400, "malformed", "post", "/api/v1/clients", body=b'{"name": "a\\u0000"}', told="NUL"),
    Case("lone surrogate", 400, "malformed", "post", "/api/v1/clients", body=b'{"name": "\\ud800"}'),
    Case("duplicate key", 400, "malformed", "post", "/api/v1/clients", body=b'{"name":"a","name":"b"}', told="twice"),
    Case("depth", 400, "malformed", "post", "/api/v1/clients", body=b'{"a":' + b"[" * 9999 + b"]" * 9999 + b"}"),
    Case("a list", 400, "malformed", "post", "/api/v1/clients", body=b"[]", told="object"),
    Case("huge number", 400, "invalid", "post", "/api/v1/clients", body=b'{"name":"a","max_hr_bpm":1e300}'),
    Case("unknown field", 400, "invalid", "post", "/api/v1/clients", body=b'{"nmae":"a"}', told="'name'"),
    Case("unknown zone", 400, "invalid", "post", "/api/v1/clients", body=b'{"name":"a","time_zone":"Europe/Pari"}'),
    Case("unknown parameter", 400, "invalid", "get", "/api/v1/clients?limt=3", told="'limit'"),
    Case("parameter twice", 400, "invalid", "get", "/api/v1/clients?limit=3&limit=4", told="2 times"),
    Case("limit too high", 400, "invalid", "get", "/api/v1/clients?limit=201", told="1 to 200"),
    Case("limit of many digits", 400, "invalid", "get", "/api/v1/clients?limit=99999999999999999999"),
    Case("garbage cursor", 400, "invalid", "get", "/api/v1/clients?cursor=abc", told="without it"),
    Case("NUL in query", 400, "invalid", "get", "/api/v1/clients?name=%00"),
    Case("unknown coach in filter", 400, "unknown_object", "get", "/api/v1/clients?coach={random}"),
    Case("forged host", 400, "malformed", "get", "/api/v1/me", headers={"host": "evil.example"}),
    Case("forged host on a page", 400, "malformed", "get", "/healthz", who=None, headers={"host": "evil.example"}),
    Case("key in the address", 400, "malformed", "get", "/api/v1/me?api_key=cp_x", told="Authorization"),
    Case("no credential", 401, "unauthenticated", "get", "/api/v1/me", who=None),
    Case("garbage", 401, "unauthenticated", "get", "/api/v1/me", None, headers={"authorization": "Bearer abc"}),
    Case("basic", 401, "unauthenticated", "get", "/api/v1/me", None, headers={"authorization": "Basic YTpi"}),
    Case("empty bearer", 401, "unauthenticated", "get", "/api/v1/me", None, headers={"authorization": "Bearer"}),
    Case(
        "unknown key",
        401,
        "unauthenticated",
        "get",
        "/api/v1/me",
        None,
        headers={"authorization": f"Bearer cp_abcdefgh_{'x' * 43}"},
    ),
    Case("not text", 401, "unauthenticated", "get", "/api/v1/me", None, headers={"authorization": "Bearer \xe9"}),
    Case("role lacks it", 403, "forbidden", "get", "/api/v1/api-keys", who="viewer"),
    Case("no version named", 428, "precondition_required", "patch", CLIENT, body=b'{"name":"a"}', told="If-Match"),
    Case("stale", 412, "precondition_failed", "patch", CLIENT, body=b'{"name":"a"}', headers={"if-match": '"v9"'}),
    Case(
        "unreadable version",
        412,
        "precondition_failed",
        "patch",
        CLIENT,
        body=b'{"name":"a"}',
        headers={"if-match": "x"},
    ),
    Case(
        "key where a secret is shown",
        400,
        "malformed",
        "post",
        "/api/v1/api-keys",
        body=b"{}",
        headers={"idempotency-key": "k"},
        told="secret",
    ),
    Case(
        "key at sign-in",
        400,
        "malformed",
        "post",
        "/api/v1/sessions",
        who=None,
        body=b"{}",
        headers={"idempotency-key": "k"},
    ),
    Case("unreadable key", 400, "malformed", "post", "/api/v1/clients", body=b"{}", headers={"idempotency-key": "a b"}),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_refusal_is_a_documented_problem(case: Case, cast: Cast, neighbour: Cast) -> None:
    ids = {"anna": cast.anna.id, "neighbour": neighbour.anna.id, "random": uuid4()}
    path = case.path
    for name, value in ids.items():
        path = path.replace(f"{{{name}}}", str(value))
    caller: Any = cast.api(getattr(cast, case.who)) if case.who else Browser()
    caller.raise_request_exception = False
    extra = {f"HTTP_{name.upper().replace('-', '_')}": value for name, value in case.headers.items()}
    answer = caller.generic(case.method.upper(), path, case.body or b"", content_type=case.content_type, **extra)
    _assert_problem(answer, case.status, case.kind)
    assert case.told in answer.content.decode()


def _assert_problem(answer: Any, status: int, kind: str) -> None:
    text = answer.content.decode()
    assert (answer.status_code, answer.headers["Content-Type"]) == (status, "application/problem+json"), text
    document = answer.json()
    assert document["type"] == PROBLEM_TYPES[kind].uri
    assert document["status"] == status
    assert document["request_id"] == answer.headers["X-Request-Id"]
    assert all(fault["pointer"][0] in "#?" and fault["detail"].endswith((".", "?")) for fault in document["errors"])
    assert not any(word in text for word in ("Traceback", "SELECT", "psycopg", "coaching_", "File \\"))
    assert Browser().get(document["type"]).status_code == 200
    if status == 401:
        assert answer.headers["WWW-Authenticate"].startswith("Bearer")
    if status == 405:
        assert answer.headers["Allow"] == "GET, POST"


def test_every_fault_of_a_body_is_told_at_once(cast: Cast) -> None:
    body = {"name": "", "weekdays": [1, 9], "unit": "stone", "id": str(uuid4()), "a/b": 1, "time_zone": "Mars/Base"}
    answer = cast.api(cast.owner).post("/api/v1/clients", body, format="json")
    pointers = {fault["pointer"]: fault["code"] for fault in answer.json()["errors"]}
    assert pointers == {
        "#/name": "blank",
        "#/weekdays/1": "max_value",
        "#/unit": "invalid_choice",
        "#/id": "unknown_field",
        "#/a~1b": "unknown_field",
        "#/time_zone": "unknown_time_zone",
    }


@pytest.mark.parametrize("path", ["/api/v1/clients", "/api/v1/clients/"])
def test_a_path_answers_with_and_without_its_slash(cast: Cast, path: str) -> None:
    assert cast.api(cast.owner).get(path).status_code == 200
    assert cast.api(cast.owner).post(path, {"name": "Dora"}, format="json").status_code == 201


def test_a_foreign_object_and_a_missing_one_are_answered_alike(cast: Cast, neighbour: Cast) -> None:
    def answer(client_id: object) -> Any:
        found = cast.api(cast.owner).get(f"/api/v1/clients/{client_id}", HTTP_X_REQUEST_ID="same")
        # What is left of the quota is less each time, whatever is asked.
        headers = {name: value for name, value in found.headers.items() if name != "RateLimit"}
        return found.status_code, headers, found.content

    assert answer(neighbour.anna.id) == answer(uuid4())


def test_head_is_answered_as_get_is(cast: Cast) -> None:
    got, headed = (getattr(cast.api(cast.owner), verb)("/api/v1/business") for verb in ("get", "head"))
    assert (headed.status_code, headed.headers["ETag"]) == (200, got.headers["ETag"])


@pytest.mark.parametrize(("sent", "kept"), [("job-7.a_b", True), ("a b\n", False), ("x" * 65, False)])
def test_a_sane_request_id_is_echoed(client: Browser, sent: str, kept: bool) -> None:
    answer = client.get("/healthz", headers={"X-Request-Id": sent})
    assert (answer.headers["X-Request-Id"] == sent) is kept


def test_a_fault_of_ours_is_a_problem_without_its_stack(
    cast: Cast, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    _break(monkeypatch, ZeroDivisionError("SELECT secret FROM coaching_client"))
    api = cast.api(cast.owner)
    api.raise_request_exception = False
    answer = api.get("/api/v1/business")
    _assert_problem(answer, 500, "server_error")
    assert "ZeroDivisionError" in caplog.text


def _break(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    def fail(**_named: object) -> None:
        raise error

    monkeypatch.setattr("coaching.api.views.businesses.get_business", fail)


def test_a_database_that_is_away_is_503_with_a_time_to_come_back(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    _break(monkeypatch, OperationalError("server closed the connection"))
    api = cast.api(cast.owner)
    api.raise_request_exception = False
    answer = api.get("/api/v1/business")
    _assert_problem(answer, 503, "unavailable")
    assert int(answer.headers["Retry-After"]) > 0


def test_what_a_refused_request_wrote_is_rolled_back(cast: Cast) -> None:
    api = cast.api(cast.owner)
    owner = api.get(f"/api/v1/coaches/{cast.owner.id}")
    refused = api.delete(f"/api/v1/coaches/{cast.owner.id}", HTTP_IF_MATCH=owner.headers["ETag"])
    assert refused.json()["code"] == "last_owner"
    after = api.get(f"/api/v1/coaches/{cast.owner.id}")
    assert after.json() == owner.json()


def test_an_authenticated_answer_is_never_cached_and_runs_nothing(cast: Cast) -> None:
    for answer in (signed_in("none").get("/api/v1/me"), cast.api(cast.owner).get("/api/v1/me")):
        assert answer.headers["Cache-Control"] == "no-store"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
