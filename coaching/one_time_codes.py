"""Codes of the second factor: those that an authenticator app shows, and those kept on paper."""

import base64
import hashlib
import re
import secrets
from datetime import datetime
from hmac import compare_digest
from typing import Final
from urllib.parse import quote, urlencode
from uuid import UUID

from django_otp.oath import hotp

STEP_S: Final = 30
"""How long an app shows a code. Source: RFC 6238, 5.2, the default time step."""

DIGITS: Final = 6
"""Digits of a code. Source: RFC 4226, 5.3, the least allowed; what apps show."""

DRIFT_STEPS: Final = 1
"""Steps before and after the present one that are taken. Source: RFC 6238, 5.2, one step for the delay of a network."""

SECRET_BYTES: Final = 20
"""Bytes of the shared secret. Source: RFC 4226, 4, R6: 160 bits recommended."""

RECOVERY_CODES: Final = 10
"""Codes of a set. Practice."""

RECOVERY_CODE_BYTES: Final = 15
"""120 random bits, so that a fast hash is right. Source: ASVS 5, 6.5.2: at least 112 bits."""

ISSUER: Final = "Counterpoise"
_CODE: Final = re.compile(rf"[0-9]{{{DIGITS}}}")
_GROUP: Final = 4


def new_secret() -> bytes:
    """Return a secret for an authenticator app and this service to share."""
    return secrets.token_bytes(SECRET_BYTES)


def shown_secret(secret: bytes) -> str:
    """Return a secret as it is typed into an app: base32."""
    return base64.b32encode(secret).decode().rstrip("=")


def enrolment_uri(secret: bytes, account: str) -> str:
    """Return the address that an app reads from a QR code (the `otpauth` key URI that apps agree on)."""
    asked = {"secret": shown_secret(secret), "issuer": ISSUER, "algorithm": "SHA1", "digits": DIGITS, "period": STEP_S}
    return f"otpauth://totp/{quote(ISSUER)}:{quote(account)}?{urlencode(asked)}"


def step_at(instant: datetime) -> int:
    """Return the number of the time step that an instant is in."""
    return int(instant.timestamp()) // STEP_S


def code_of_step(secret: bytes, step: int, digits: int = DIGITS) -> str:
    """Return the code of a time step (RFC 6238 with SHA-1)."""
    return f"{hotp(secret, step, digits):0{digits}d}"


def looks_like_app_code(code: str) -> bool:
    """Say whether it has the form of an app's code; else it is looked at as a recovery code."""
    return _CODE.fullmatch(_compact(code)) is not None


def matching_step(secret: bytes, code: str, *, now: datetime, after: int | None) -> int | None:
    """Return the time step that a code is of, None if it is of none near now.

    Args:
        secret: the shared one.
        code: as typed.
        now: the instant.
        after: the step last accepted; it and earlier ones are not taken again.
    """
    typed, present = _compact(code), step_at(now)
    near = range(present - DRIFT_STEPS, present + DRIFT_STEPS + 1)
    # Each is compared, whichever matches: the time taken tells nothing.
    matches = [step for step in near if compare_digest(code_of_step(secret, step).encode(), typed.encode())]
    return next((step for step in matches if after is None or step > after), None)


def new_recovery_codes() -> list[str]:
    """Return a set of codes, each to be used once: six groups of four letters and digits."""
    return [_grouped(secrets.token_bytes(RECOVERY_CODE_BYTES)) for _ in range(RECOVERY_CODES)]


def recovery_digest(person_id: UUID, code: str) -> str:
    """Return what is kept of a recovery code: its digest, for this person alone, whatever its spacing and case."""
    return hashlib.sha256(person_id.bytes + _compact(code).encode()).hexdigest()


def _grouped(drawn: bytes) -> str:
    letters = base64.b32encode(drawn).decode().lower()
    return "-".join(letters[at : at + _GROUP] for at in range(0, len(letters), _GROUP))


def _compact(code: str) -> str:
    return re.sub(r"[\s-]", "", code).lower()
