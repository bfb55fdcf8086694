"""Passwords that are long and yet among the first guessed: repeats, runs, and a common one with digits about it."""

import re
from functools import cache
from itertools import pairwise
from typing import Any, Final

from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

ROWS: Final = ("1234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "azertyuiop")
"""Keys side by side. Practice."""

STEPS_RATIO: Final = 0.7
"""Share of a password's steps that lead to the next key or letter, from which it is a run. Practice."""

_REPEATED: Final = re.compile(r"(.{1,4})\1{2,}.{0,3}")
_ABOUT: Final = re.compile(r"^[\W\d_]+|[\W\d_]+$")
_STEPS: Final = frozenset(
    pair for row in (*ROWS, "abcdefghijklmnopqrstuvwxyz") for one in (row, row[::-1]) for pair in pairwise(one)
) | {("9", "0"), ("0", "1")}


class PatternsValidator:
    """Refuses a password with a pattern for its strength; a setting of `AUTH_PASSWORD_VALIDATORS`."""

    def validate(self, password: str, user: Any = None) -> None:
        """Check a password.

        Raises:
            ValidationError: it is one short piece repeated, a run of keys or letters, or a common one with digits.
        """
        folded = password.casefold()
        if _REPEATED.fullmatch(folded) or _is_a_run(folded) or _ABOUT.sub("", folded) in _common():
            raise ValidationError(self.get_help_text(), code="password_of_a_pattern")

    def get_help_text(self) -> str:
        """Return the rule in words."""
        return "This password is a repeat, a run of keys or a common one with digits about it; take several words."


def _is_a_run(folded: str) -> bool:
    steps = list(pairwise(folded))
    return bool(steps) and sum(step in _STEPS for step in steps) / len(steps) >= STEPS_RATIO


@cache
def _common() -> frozenset[str]:
    return frozenset(CommonPasswordValidator().passwords)
