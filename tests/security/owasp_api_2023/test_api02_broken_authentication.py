"""API2:2023. A credential is whole, current and ours, or the answer is 401 with a challenge, whatever was asked.

Also behind it: `tests/coaching/http/test_authentication.py`, `tests/coaching/api/test_sessions.py` and
`test_sign_in_attempts.py` (throttling, equal answers for unknown addresses), `test_api_keys.py`.
"""

from datetime import timedelta
from typing import Any, Final

import pytest
import time_machine
from rest_framework.test import APIClient

from coaching.actions.sessions import session_id_of
from coaching.models import SessionToken
from coaching.policy import OPERATIONS
from tests.scenario import NOON, Cast, signed_in
from tests.security.answers import fault_of
from tests.security.operations import CALLED, attack

ME: Final = "/api/v1/me"


def _secret(api: APIClient) -> str:
    return str(vars(api)["_credentials"]["HTTP_AUTHORIZATION"]).removeprefix("Bearer ")


def _with(header: str) -> Any:
    api = APIClient()
    api.credentials(HTTP_AUTHORIZATION=header)
    return api.get(ME)


def _assert_challenged(answer: Any) -> None:
    assert answer.status_code == 401, answer.content
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")
    assert fault_of(answer) is None


@pytest.mark.parametrize("kind", ["key", "session"])
def test_a_credential_that_was_tampered_with_is_none(kind: str, cast: Cast) -> None:
    good = _secret(cast.key("logs:read") if kind == "key" else cast.api(cast.owner))
    assert _with(f"Bearer {good}").status_code == 200
    swapped = good[:-1] + ("A" if good[-1] != "A" else "B")
    middle = len(good) // 2
    spoilt = {
        "truncated": good[:-1],
        "prefix only": good[:11],
        "lengthened": good + "A",
        "last character": swapped,
        "other case": good.swapcase(),
        "space inside": f"{good[:middle]} {good[middle:]}",
        "tab inside": f"{good[:middle]}\t{good[middle:]}",
        "zero width": f"{good[:middle]}\u200b{good[middle:]}",
        "full width": good.translate({ord(c): ord(c) + 0xFEE0 for c in "abcdef0123456789"}),
        "quoted": f'"{good}"',
        "percent-encoded": "".join(f"%{ord(c):02x}" for c in good),
        "other scheme's prefix": f"cp_{good}" if kind == "session" else good.removeprefix("cp_"),
        "over-long": good + "A" * 5000,
        "trailing NUL": good + "\x00",
        "a list": f"{good},{good}",
    }
    let_in = {name: value for name, value in spoilt.items() if _with(f"Bearer {value}").status_code != 401}
    assert let_in == {}
    for value in spoilt.values():
        _assert_challenged(_with(f"Bearer {value}"))


@pytest.mark.parametrize(
    "header",
    [
        "",
        "Bearer",
        "Bearer ",
        "bearer: x",
        "Basic YTpi",
        "Token {}",
        "{}",
        "Digest {}",
        "Bearer {}, Bearer {}",
        "Bearer x, Bearer {}",
        "Bearer null",
        "Bearer undefined",
        "Bearer [object Object]",
        "Bearer cp__",
        "Bearer cp_",
    ],
)
def test_nothing_but_one_bearer_credential_signs_in(header: str, cast: Cast) -> None:
    """Two Authorization headers reach an application as one, joined by a comma."""
    _assert_challenged(_with(header.replace("{}", _secret(cast.api(cast.owner)))))


def test_a_credential_counts_in_its_header_only(cast: Cast) -> None:
    secret, nobody = _secret(cast.api(cast.owner)), APIClient()
    nobody.cookies["token"] = nobody.cookies["sessionid"] = nobody.cookies["Authorization"] = secret
    _assert_challenged(nobody.get(ME))
    _assert_challenged(nobody.get(ME, HTTP_X_API_KEY=secret, HTTP_X_AUTH_TOKEN=secret, HTTP_PROXY_AUTHORIZATION=secret))
    for name in ("api_key", "access_token", "token"):
        in_address = nobody.get(f"{ME}?{name}={secret}")
        assert (in_address.status_code, in_address.json()["code"]) == (400, "credential_in_url")
        assert secret not in in_address.content.decode()


def test_a_credential_that_ended_opens_no_operation(cast: Cast, world: dict[str, str]) -> None:
    owner = cast.api(cast.owner)
    made = owner.post("/api/v1/api-keys", {"name": "Old", "scopes": ["logs:read"]}, format="json").json()
    revoked = signed_in(made["key"])
    assert revoked.get(ME).status_code == 200
    assert owner.delete(f"/api/v1/api-keys/{made['id']}", HTTP_IF_MATCH="*").status_code == 204
    ended = cast.api(cast.coach)
    session = session_id_of(SessionToken.objects.get(membership_id=cast.coach.id))
    assert ended.delete(f"/api/v1/sessions/{session}", HTTP_IF_MATCH="*").status_code == 204
    for api in (revoked, ended, signed_in("garbage"), APIClient()):
        for operation, call in CALLED.items():
            if OPERATIONS[operation].anyone:
                continue
            answer = attack(api, call, world)
            assert answer.status_code == 401, operation
            assert answer.headers["WWW-Authenticate"].startswith("Bearer"), operation


def test_an_expired_session_and_an_expired_key_are_over(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False) as clock:
        session = cast.api(cast.owner)
        expiry = (NOON + timedelta(days=2)).isoformat()
        body = {"name": "Short", "scopes": ["logs:read"], "expires_at": expiry}
        made = session.post("/api/v1/api-keys", body, format="json").json()
        key = signed_in(made["key"])
        assert key.get(ME).status_code == session.get(ME).status_code == 200
        clock.move_to(NOON + timedelta(hours=12, seconds=1))
        _assert_challenged(session.get(ME))
        assert key.get(ME).status_code == 200
        clock.move_to(NOON + timedelta(days=2, seconds=1))
        _assert_challenged(key.get(ME))
