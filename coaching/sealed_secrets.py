"""Secrets that must be read back: sealed with keys that the database does not hold."""

import base64
from functools import cache
from typing import Final

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

_KEY_BYTES: Final = 32


class SealedWithAnotherKeyError(RuntimeError):
    """None of the present keys opens it."""


def seal(secret: bytes, purpose: str) -> str:
    """Return a secret as it may be stored: encrypted and authenticated, with a key of this purpose alone."""
    return _boxes(purpose).encrypt(secret).decode()


def unseal(sealed: str, purpose: str) -> bytes:
    """Return what was sealed for the same purpose, under the present `SECRET_KEY` or one of the fallbacks.

    Raises:
        SealedWithAnotherKeyError: none of them opens it.
    """
    try:
        return _boxes(purpose).decrypt(sealed.encode())
    except InvalidToken:
        raise SealedWithAnotherKeyError(
            "A stored secret was sealed under another SECRET_KEY; add that one to SECRET_KEY_FALLBACKS."
        ) from None


def is_sealed_with_the_present_key(sealed: str, purpose: str) -> bool:
    """Say whether it would still open without the fallbacks."""
    try:
        _box(settings.SECRET_KEY, purpose).decrypt(sealed.encode())
    except InvalidToken:
        return False
    return True


def _boxes(purpose: str) -> MultiFernet:
    return MultiFernet([_box(key, purpose) for key in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


@cache
def _box(secret_key: str, purpose: str) -> Fernet:
    derived = HKDF(SHA256(), _KEY_BYTES, salt=None, info=f"coaching.sealed_secrets.{purpose}".encode())
    return Fernet(base64.urlsafe_b64encode(derived.derive(secret_key.encode())))
