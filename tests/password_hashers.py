"""Hashing passwords in tests: cheap, or counted."""

from typing import Any, ClassVar

from django.contrib.auth.hashers import Argon2PasswordHasher


class QuickArgon2(Argon2PasswordHasher):
    """The service's own algorithm, at its least cost: what is tested is who gets in, not how slowly."""

    time_cost = 1
    memory_cost = 8
    parallelism = 1


QUICK = ["tests.password_hashers.QuickArgon2"]


class CountedArgon2(QuickArgon2):
    """Counts the hashes that it computes."""

    computed: ClassVar[list[str]] = []

    def encode(self, password: str, salt: str) -> str:
        """Hash a password."""
        self.computed.append("encode")
        return str(super().encode(password, salt))

    def verify(self, password: str, encoded: str) -> bool:
        """Hash a password and compare."""
        self.computed.append("verify")
        return bool(super().verify(password, encoded))


def count_hashes(settings: Any) -> list[str]:
    """Have hashes counted from now on; return the list that grows by one with each."""
    settings.PASSWORD_HASHERS = ["tests.password_hashers.CountedArgon2"]
    CountedArgon2.computed.clear()
    return CountedArgon2.computed
