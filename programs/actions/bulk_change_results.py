"""What is asked of many planned sessions in one call, and what became of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal
from uuid import UUID

BulkOutcome = Literal["changed", "unchanged", "conflict", "refused"]


@dataclass(frozen=True, slots=True)
class SessionsWanted:
    """Which sessions: by id, or those of clients (everyone visible if None) between two local dates, both included."""

    session_ids: Sequence[UUID] | None = None
    client_ids: Sequence[UUID] | None = None
    first: date | None = None
    last: date | None = None


@dataclass(frozen=True, slots=True)
class Shift:
    """Move them later, or earlier by negative days."""

    days: int


@dataclass(frozen=True, slots=True)
class Excuse:
    """Excuse them."""

    reason: str


@dataclass(frozen=True, slots=True)
class MakeDeload:
    """Keep a share of the sets, change the load, and mark them as a deload."""

    sets_pct: Decimal
    load_pct: Decimal


@dataclass(frozen=True, slots=True)
class Swap:
    """Do another exercise, by id or key, in place of one that they hold."""

    exercise: str
    instead: str


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Prescribe again what their version does."""


BulkChange = Shift | Excuse | MakeDeload | Swap | TakeBack


@dataclass(frozen=True, slots=True)
class BulkResult:
    """What became of one session.

    Attributes:
        planned_session_id: which.
        outcome: `changed`, `unchanged`, `conflict` (its state or calendar forbids it) or `refused` (not found).
        code: why not; empty when changed.
        detail: a sentence that says what to change; empty when changed.
        client_id: whose it is; None where it was not found.
        local_date: its date by now.
    """

    planned_session_id: UUID
    outcome: BulkOutcome
    code: str = ""
    detail: str = ""
    client_id: UUID | None = None
    local_date: date | None = None
