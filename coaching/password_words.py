"""Words that a password of this service must not lean on: they are the first that somebody guesses here."""

import re
from typing import Any, Final

from django.core.exceptions import ValidationError

WORDS: Final = (
    "counterpoise",
    "programme",
    "password",
    "strength",
    "training",
    "coaching",
    "deadlift",
    "program",
    "barbell",
    "workout",
    "fitness",
    "client",
    "coach",
    "squat",
    "train",
    "bench",
    "admin",
    "gym",
)
"""The service's name and the trade's own words (OWASP ASVS 5.0, 6.2.11). Practice."""

LEFT_AT_LEAST: Final = 8
"""Letters and digits that a password has besides those words. Practice."""

_ANY_WORD: Final = re.compile("|".join(sorted(WORDS, key=len, reverse=True)))
_NEITHER: Final = re.compile(r"[\W_]+")


class ContextWordsValidator:
    """Refuses a password that is little more than such words; a setting of `AUTH_PASSWORD_VALIDATORS`."""

    def validate(self, password: str, user: Any = None) -> None:
        """Check a password.

        Raises:
            ValidationError: without those words too little of it is left.
        """
        folded = _NEITHER.sub("", password.casefold())
        if _ANY_WORD.search(folded) and len(_ANY_WORD.sub("", folded)) < LEFT_AT_LEAST:
            raise ValidationError(self.get_help_text(), code="password_of_context_words")

    def get_help_text(self) -> str:
        """Return the rule in words."""
        return "This password is little more than words that everybody here would try; add others to it."
