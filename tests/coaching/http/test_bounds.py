"""What is larger, deeper or of another kind than any real request is refused at once, by the table."""

import time
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import orjson
import pytest

from coaching.http.parsers import MAX_COLONS, MAX_ITEMS, MAX_MEMBERS
from tests.scenario import Cast

QUICK_S = 3.0
"""Generous for a loaded machine: what is not refused by its size takes minutes."""
JSON = "application/json"
CLIENTS, BATCHES, CLIENT = "/api/v1/clients", "/api/v1/log-batches", "/api/v1/clients/{anna}"


def _object(members: int) -> bytes:
    return orjson.dumps({f"k{number}": 1 for number in range(members)})


def _junk_batch() -> bytes:
    """As many unknown fields as fit under the bound, in 5,000 items."""
    item = {f"{number:x}": 1 for number in range(MAX_COLONS // MAX_ITEMS - 2)}
    return orjson.dumps({"source": "app", "set_logs": [item] * MAX_ITEMS})


@dataclass(frozen=True)
class Case:
    name: str
    status: int
    body: Callable[[], bytes] = lambda: b'{"name": "a"}'
    path: str = CLIENTS
    content_type: str = JSON
    headers: dict[str, str] = field(default_factory=dict)
    told: str = ""
    method: str = "POST"


CASES = [
    Case("members", 413, lambda: _object(MAX_MEMBERS + 1), told="at most 500 members"),
    Case("members in all", 413, lambda: b'{"a":[' + b'{"b":1},' * MAX_COLONS + b"1]}", told="members"),
    Case("a list", 400, lambda: orjson.dumps({"viewers": ["x"] * (MAX_ITEMS + 1)}), told="5,000 items"),
    Case("a text", 413, lambda: orjson.dumps({"name": "x" * 100_001}), told="characters"),
    Case("a key", 400, lambda: orjson.dumps({"x" * 201: 1}), told="A key"),
    Case("an integer of 5,000 digits", 400, lambda: b'{"name":"a","max_hr_bpm":' + b"1" * 5000 + b"}"),
    Case("an integer of 300 digits", 400, lambda: b'{"name":"a","max_hr_bpm":' + b"1" * 300 + b"}"),
    Case("the same in a document", 400, lambda: b'{"a":' + b"1" * 300 + b',"a":' + b"1" * 5000 + b"}"),
    Case("1e400", 400, lambda: b'{"name":"a","max_hr_bpm":1e400}'),
    Case("-1e400", 400, lambda: b'{"name":"a","max_hr_bpm":-1e400}'),
    Case("1e-400", 400, lambda: b'{"name":"a","max_hr_bpm":1e-400}'),
    Case("infinity", 400, lambda: b'{"name":"a","max_hr_bpm":Infinity}'),
    Case("NaN in a batch", 400, lambda: b'{"source":"a","set_logs":[{"load_kg":NaN}]}', BATCHES),
    Case("1e400 in a batch", 400, lambda: b'{"source":"a","set_logs":[{"load_kg":1e400}]}', BATCHES),
    Case("5,001 items", 400, lambda: orjson.dumps({"source": "a", "check_ins": [{}] * 2600, "set_logs": [{}] * 2600}),
         BATCHES, told="5,000"),
    Case("too many members in a batch", 413, lambda: b'{"set_logs":[' + b'{"b":1},' * MAX_COLONS + b"{}]}", BATCHES),
    Case("9 MiB", 413, lambda: b" " * (9 * 1024 * 1024), BATCHES, told="8 MiB"),
    Case("9 MiB of CSV", 413, lambda: b"a" * (9 * 1024 * 1024), "/api/v1/log-imports", "text/csv"),
    Case("form", 415, lambda: b"name=a", content_type="application/x-www-form-urlencoded", told=JSON),
    Case("multipart form", 415, lambda: b"--x--\r\n", content_type="multipart/form-data; boundary=x"),
    Case("text", 415, content_type="text/plain"),
    Case("JSON by another name", 415, content_type="text/json"),
    Case("no type", 415, content_type=""),
    Case("any type", 415, content_type="*/*"),
    Case("Latin 1", 415, content_type="application/json; charset=iso-8859-1", told="UTF-8"),
    Case("UTF-16", 415, lambda: '{"name":"a"}'.encode("utf-16"), content_type="application/json; charset=utf-16"),
    Case("compressed", 415, lambda: zlib.compress(b'{"name":"a"}'), headers={"content-encoding": "deflate"}),
    Case("form to a batch", 415, lambda: b"a=1", BATCHES, "application/x-www-form-urlencoded"),
    Case("no type to a batch", 415, lambda: b"{}", BATCHES, ""),
    Case("JSON to an import", 415, lambda: b"{}", "/api/v1/log-imports"),
    Case("form where no body is asked", 415, lambda: b"a=1", CLIENT, "application/x-www-form-urlencoded",
         headers={"if-match": "*"}, method="PATCH"),
    Case("parameters", 400, lambda: b"", CLIENTS + "?" + "&".join(f"p{n}=1" for n in range(60)), method="GET"),
    Case("values", 400, lambda: b"", "/api/v1/flags?state=" + "open," * 101, told="at most 100", method="GET"),
    Case("a value", 400, lambda: b"", CLIENTS + "?name=" + "x" * 5000, told="at most", method="GET"),
    Case("a cursor", 400, lambda: b"", CLIENTS + "?cursor=" + "x" * 5000, method="GET"),
    Case("a page", 400, lambda: b"", CLIENTS + "?limit=1" + "0" * 5000, method="GET"),
    Case("a credential", 401, headers={"authorization": "Bearer " + "x" * 5000}),
    Case("a retry's key", 400, headers={"idempotency-key": "x" * 5000}),
    Case("a version", 412, path=CLIENT, headers={"if-match": "x" * 5000}, method="PATCH"),
    Case("form asked for", 406, headers={"accept": "application/xml"}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_what_is_out_of_bounds_is_refused_at_once(case: Case, cast: Cast) -> None:
    body = case.body()
    extra = {f"HTTP_{name.upper().replace('-', '_')}": value for name, value in case.headers.items()}
    caller = cast.api(cast.owner)
    caller.credentials(**{"HTTP_AUTHORIZATION": f"Bearer {cast.tokens[cast.owner.id]}", **extra})
    path = case.path.replace("{anna}", str(cast.anna.id))
    began = time.monotonic()
    answer: Any = caller.generic(case.method, path, body, content_type=case.content_type)
    assert time.monotonic() - began < QUICK_S
    assert answer.status_code == case.status, answer.content[:500]
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert case.told in answer.json()["detail"]
    assert len(answer.content) < 100_000


def test_a_batch_of_nothing_but_unknown_fields_is_answered_in_seconds(cast: Cast) -> None:
    began = time.monotonic()
    answer = cast.api(cast.coach).generic("POST", BATCHES, _junk_batch(), content_type=JSON)
    assert time.monotonic() - began < QUICK_S * 4
    assert answer.status_code == 200
    assert answer.json()["summary"]["refused"] == MAX_ITEMS
    assert all(len(item["problem"]["errors"]) <= 30 for item in answer.json()["items"])


def test_an_object_of_unknown_fields_is_answered_with_the_first_faults(cast: Cast) -> None:
    answer = cast.api(cast.owner).generic("POST", CLIENTS, _object(MAX_MEMBERS), content_type=JSON)
    problem = answer.json()
    assert answer.status_code == 400
    assert len(problem["errors"]) == 200
    assert "more faults" in problem["detail"]


@pytest.mark.parametrize("charset", ["", "; charset=utf-8", '; charset="UTF-8"', "; charset=UTF8"])
def test_json_in_utf_8_is_taken_however_it_is_said(charset: str, cast: Cast) -> None:
    answer: Any = cast.api(cast.owner).generic("POST", CLIENTS, b'{"name": "Zo\xc3\xab"}', content_type=JSON + charset)
    assert answer.status_code == 201, answer.content


def test_a_request_without_a_body_needs_no_type(cast: Cast) -> None:
    made = cast.api(cast.owner).post("/api/v1/api-keys", {"name": "App", "scopes": ["logs:read"]}, format="json")
    gone = cast.api(cast.owner).generic("DELETE", f"/api/v1/api-keys/{made.json()['id']}", b"", content_type="")
    assert gone.status_code in {204, 428}
