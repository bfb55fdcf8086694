"""Whatever stands in a header: never a fault of ours, each refusal a problem document, and nobody gets in by one."""

import random
from collections.abc import Mapping
from typing import Any, Final

import pytest
from django.test import override_settings

from tests.scenario import Cast
from tests.security.answers import fault_of
from tests.security.conformance import SEED
from tests.security.operations import CALLED, attack

HEADERS: Final = (
    "Authorization",
    "Idempotency-Key",
    "If-Match",
    "If-None-Match",
    "If-Modified-Since",
    "If-Unmodified-Since",
    "Prefer",
    "Accept",
    "Accept-Language",
    "Accept-Encoding",
    "Accept-Charset",
    "Content-Type",
    "Content-Length",
    "Content-Encoding",
    "Transfer-Encoding",
    "Origin",
    "Referer",
    "Access-Control-Request-Method",
    "Access-Control-Request-Headers",
    "X-Request-Id",
    "X-Forwarded-For",
    "X-Forwarded-Proto",
    "X-Forwarded-Host",
    "X-Forwarded-Port",
    "X-Real-Ip",
    "Forwarded",
    "Host",
    "Range",
    "If-Range",
    "Expect",
    "Cookie",
    "User-Agent",
    "X-Http-Method-Override",
    "X-Method-Override",
    "X-Original-Url",
    "X-Rewrite-Url",
    "Upgrade",
    "Connection",
    "Te",
)
HOSTILE: Final = (
    "",
    " ",
    ",",
    ";",
    "*",
    "*/*;q=x",
    '"',
    '""',
    'W/"v1", W/"',
    "bytes=0-,-1,9999999999-",
    "-1",
    "9" * 300,
    "a" * 9000,
    "\x00",
    "a\r\nX-Evil: 1",
    "\xff\xfe",
    "\u00e9",
    'text/html;charset="',
    "application/json; charset=utf-7",
    "application/json; charset=nope",
    "multipart/form-data",
    "multipart/form-data; boundary=",
    "null",
    "http://evil.example",
    "javascript:alert(1)",
    "handling=strict;" * 50,
    "respond-async, wait=-1",
    "[::1",
    "999.1.1.1",
    "127.0.0.1:x",
    "Bearer",
    "Bearer  ",
    "Basic Og==",
    "Digest x",
    "Thu, 99 Foo 2031",
    "gzip, br;q=2",
    "' OR 1=1 --",
)
OPERATIONS: Final = ("clients.list", "planned_sessions.card", "log_batches.create", "clients.update")


def _faults(api: Any, ids: Mapping[str, str], rng: random.Random) -> tuple[int, dict[str, str]]:
    sent, faults = 0, {}
    for name in HEADERS:
        for value in rng.sample(HOSTILE, 10):
            call = CALLED[rng.choice(OPERATIONS)]
            sent += 1
            answer = attack(api, call, ids, headers={name: value})
            fault = fault_of(answer)
            if fault is not None:
                faults[f"{call.operation} {name}: {value[:60]!r}"] = fault
            if "X-Evil" in answer.headers:
                faults[f"{call.operation} {name}"] = "a header of the caller's stands in the answer"
    return sent, faults


@pytest.mark.parametrize("behind_proxy", [False, True])
def test_every_header_stands_hostile_values(behind_proxy: bool, cast: Cast, world: dict[str, str]) -> None:
    with override_settings(BEHIND_PROXY=behind_proxy):
        sent, faults = _faults(cast.api(cast.owner), world, random.Random(SEED))
    assert sent >= 300
    assert faults == {}


def test_no_header_makes_somebody_of_nobody(world: dict[str, str], cast: Cast) -> None:
    """Headers by which proxies of other services name the caller, or rewrite what was asked."""
    api, let_in = cast.api(cast.owner), {}
    api.credentials()
    for name in ("X-User-Id", "X-Forwarded-User", "Remote-User", "X-Remote-User", "X-Business-Id", "X-Original-Url"):
        answer = attack(api, CALLED["me.read"], world, headers={name: str(cast.owner.person_id)})
        if answer.status_code != 401:
            let_in[name] = answer.status_code
    assert let_in == {}
