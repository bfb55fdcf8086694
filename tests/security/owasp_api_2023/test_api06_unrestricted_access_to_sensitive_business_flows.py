"""API6:2023. What sends mail, tries a secret or makes an account is limited, and a loop ends at 429.

Also behind it: `tests/coaching/http/test_rate_limits.py`, `tests/coaching/api/test_invitations.py` (sends a day),
`test_second_factor.py` (codes), `test_sign_in_attempts.py` (many addresses, many accounts, many at once, and the
owner is not locked out), `tests/coaching/exports/test_exports.py` (exports a day).
"""

from typing import Any, Final

import time_machine

from tests.scenario import NOON, Cast, signed_in
from tests.security.answers import fault_of

MANY: Final = 400


def _refused_after(calls: Any) -> int:
    for count, answer in enumerate(calls, start=1):
        if answer.status_code == 429:
            assert fault_of(answer) is None
            assert int(answer.headers["Retry-After"]) >= 1
            return count
        assert answer.status_code < 500, answer.content
    raise AssertionError("Nothing ended it.")


def test_guessing_a_password_ends(cast: Cast) -> None:
    body = {"email": cast.owner.person.email, "password": "not the password"}
    with time_machine.travel(NOON, tick=False):
        calls = (signed_in("x").post("/api/v1/sessions", body, format="json") for _ in range(MANY))
        assert _refused_after(calls) <= 20


def test_guessing_many_accounts_with_one_password_ends(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        calls = (
            signed_in("x").post(
                "/api/v1/sessions", {"email": f"p{n}@x.example", "password": "Winter 2031!"}, format="json"
            )
            for n in range(MANY)
        )
        assert _refused_after(calls) <= 100


def test_mails_with_a_link_to_a_new_password_end(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        body = {"email": cast.owner.person.email}
        calls = (signed_in("x").post("/api/v1/password-resets", body, format="json") for _ in range(MANY))
        assert _refused_after(calls) <= 10


def test_invitations_of_one_business_end(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        api = cast.api(cast.owner)
        bodies = ({"email": f"p{n}@new.example", "role": "coach"} for n in range(MANY))
        assert api.post("/api/v1/invitations", next(bodies), format="json").status_code == 201
        assert _refused_after(api.post("/api/v1/invitations", body, format="json") for body in bodies) <= 150


def test_guessing_a_present_password_from_an_open_session_ends(cast: Cast) -> None:
    with time_machine.travel(NOON, tick=False):
        api, body = cast.api(cast.owner), {"current": "not the password", "new": "another fine phrase"}
        assert _refused_after(api.post("/api/v1/me/password", body, format="json") for _ in range(MANY)) <= 20
