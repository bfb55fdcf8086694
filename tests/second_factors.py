"""People with a password and an authenticator app."""

import base64
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from rest_framework.test import APIClient

from coaching.models import Membership
from coaching.one_time_codes import code_of_step, step_at
from tests.scenario import signed_in

PASSWORD = "correct horse 7 battery"
PATH = "/api/v1/me/second-factor"
HOME = "198.51.100.7"


@dataclass
class Member:
    """A member with a password, whose app may hold a secret."""

    membership: Membership
    secret: bytes = b""
    recovery_codes: tuple[str, ...] = ()
    token: str = ""

    @property
    def email(self) -> str:
        """Where they sign in."""
        return self.membership.person.email

    @property
    def api(self) -> APIClient:
        """An HTTP client in the session that set the factor up."""
        return signed_in(self.token)

    def sign_in(self, password: str = PASSWORD, *, address: str = HOME, **more: Any) -> Any:
        """Try to."""
        sent = {"email": self.email, "password": password, **more}
        return APIClient().post("/api/v1/sessions", sent, format="json", REMOTE_ADDR=address)

    def code(self, drift: int = 0) -> str:
        """What the app shows now, or some steps off."""
        return code_of_step(self.secret, step_at(timezone.now()) + drift)

    def enrol(self) -> "Member":
        """Set a second factor up, and keep what was shown."""
        self.token = self.token or self.sign_in().json()["token"]
        started = self.api.post(PATH, {"password": PASSWORD}, format="json")
        assert started.status_code == 201, started.content
        self.secret = base64.b32decode(started.json()["secret"])
        done = self.api.post(f"{PATH}/confirm", {"code": self.code()}, format="json")
        assert done.status_code == 200, done.content
        self.recovery_codes = tuple(done.json()["recovery_codes"])
        return self

    def prove(self, path: str, code: str, password: str = PASSWORD) -> Any:
        """Post a password and a code."""
        return self.api.post(f"{PATH}/{path}", {"password": password, "code": code}, format="json")


def with_password(membership: Membership) -> Member:
    """Give a member a password, and return them."""
    membership.person.set_password(PASSWORD)
    membership.person.save()
    return Member(membership)
