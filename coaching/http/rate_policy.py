"""Which requests count together, what each costs, and how many a minute are admitted. Pure."""

from collections.abc import Mapping
from enum import StrEnum
from math import ceil
from typing import Final

WINDOW_S: Final = 60
ITEMS_PER_UNIT: Final = 100
"""Logs of a batch that cost as much as one request. Practice."""


class RateClass(StrEnum):
    """What counts together; each has a quota of its own."""

    READING = "reading"
    WRITING = "writing"
    EXPENSIVE = "expensive"
    ANONYMOUS = "anonymous"


PER_MINUTE: Final[Mapping[RateClass, int]] = {
    # Sixty clients of one gym's app that open it in the same minute ask some 20 times each: 1,200.
    RateClass.READING: 3_000,
    # The same sixty log a set every half minute: 120. After a night offline they send 60 x 2 batches of 300: 360.
    RateClass.WRITING: 1_500,
    # A coach's screen that analyses at each pause of typing asks once a second: 60.
    RateClass.EXPENSIVE: 240,
    # By address, which a whole gym may share: a team that signs in at once asks 30 times.
    RateClass.ANONYMOUS: 600,
}
"""Units a minute and caller: what one caller needs at most, several times over. Practice."""

EXPENSIVE: Final = frozenset(
    {
        "prescriptions.analyse",
        "prescriptions.pairings",
        "program_versions.publish",
        "program_versions.preview",
        "program_versions.analysis",
        "log_imports.create",
        "log_imports.dry_run",
        "log_imports.commit",
        "lift_trends.list",
        "assignments.move_all_to_version",
    }
)
"""Operations that take tens of milliseconds or more whatever they are asked."""

_EXPENSIVE_RESOURCES: Final = ("exports",)
_DRAWN: Final[Mapping[str, str]] = {"planned_sessions.card": "application/pdf"}
_READING: Final = frozenset({"GET", "HEAD", "OPTIONS"})


def class_of(operation: str, method: str, accept: str = "") -> RateClass:
    """Return the class in which a signed-in caller's request counts.

    Args:
        operation: its name in `coaching.policy.OPERATIONS`; empty for a method that the path lacks.
        method: of HTTP.
        accept: the `Accept` header, for operations of which one form is dear.
    """
    resource, _dot, verb = operation.partition(".")
    if operation in EXPENSIVE or (resource in _EXPENSIVE_RESOURCES and verb == "create"):
        return RateClass.EXPENSIVE
    if operation in _DRAWN and _DRAWN[operation] in accept.lower():
        return RateClass.EXPENSIVE
    return RateClass.READING if method in _READING else RateClass.WRITING


def batch_cost(items: int) -> int:
    """Return what a batch of so many logs costs, in units."""
    return max(1, ceil(items / ITEMS_PER_UNIT))
