"""Holds for pain: what a client is to leave out, or not to raise, until somebody releases it."""

from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

HoldAction = Literal["no_increase", "stop_movement", "stop_training"]

ALL_SCOPE: Final = "all"
"""The scope of a hold about the whole person. Practice."""

_REGION: Final = "region:"
_EXERCISE: Final = "exercise:"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """What one finding holds.

    ``scope`` is `all`, `exercise:<key>` or `region:<site>` with its side where one was said. ``stop_movement``
    bars what the scope names and ``stop_training`` everything; ``no_increase`` bars nothing and warns.
    """

    scope: str
    action: HoldAction
    from_date: date

    @property
    def region(self) -> str | None:
        """The body region held, without its side; None where the scope is no region."""
        return self.scope.removeprefix(_REGION).partition(":")[0] if self.scope.startswith(_REGION) else None

    @property
    def exercise(self) -> str | None:
        """The key of the exercise held; None where the scope is no exercise."""
        return self.scope.removeprefix(_EXERCISE) if self.scope.startswith(_EXERCISE) else None

    @property
    def region_words(self) -> str:
        """The region as it is said: ``left shoulder``; empty where the scope is none."""
        if self.region is None:
            return ""
        side = self.scope.removeprefix(_REGION).partition(":")[2]
        return f"{side} {self.region}".strip().replace("_", " ")
