"""Links that prove to have been sent to an address: signed for one use, good for a time, kept nowhere."""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import Final
from uuid import UUID

from django.conf import settings
from django.core import signing

MAX_TOKEN_CHARACTERS: Final = 600


class Purpose(StrEnum):
    """What a link is for; each is signed with a salt of its own."""

    INVITATION = "invitation"
    PASSWORD_RESET = "password_reset"  # noqa: S105 -- the name of a purpose


PAGES: Final = {Purpose.INVITATION: "invitations", Purpose.PASSWORD_RESET: "password-resets"}
"""Where the page of each stands, under `/account/`; its address holds the token and belongs in no log."""


@dataclass(frozen=True, slots=True)
class Named:
    """What a link names: a row, of a business where rows have one, and which sending of it."""

    row_id: UUID
    business_id: UUID | None = None
    number: int = 1


def sign_token(purpose: Purpose, named: Named) -> str:
    """Return the token of a link, made when its mail is written."""
    business = None if named.business_id is None else named.business_id.hex
    said = {"p": purpose.value, "b": business, "i": named.row_id.hex, "n": named.number}
    return signing.dumps(said, salt=_salt(purpose))


def link_of(purpose: Purpose, token: str) -> str:
    """Return the address of the page that a token opens."""
    return f"{settings.PUBLIC_URL}/account/{PAGES[purpose]}/{token}"


def read_token(purpose: Purpose, token: str, max_age: timedelta) -> Named | None:
    """Return what a token names; None where it was not signed for this purpose, or is too old."""
    if len(token) > MAX_TOKEN_CHARACTERS:
        return None
    try:
        said = signing.loads(token, salt=_salt(purpose), max_age=max_age)
    except signing.BadSignature:
        return None
    if said["p"] != purpose:
        return None
    return Named(UUID(said["i"]), None if said["b"] is None else UUID(said["b"]), said["n"])


def _salt(purpose: Purpose) -> str:
    return f"coaching.signed_links.{purpose.value}"
