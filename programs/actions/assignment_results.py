"""What is asked of an assignment to many clients, and what became of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from programs.prescription.client_fit import FitWarning
from programs.prescription.snapshot import MissingReference
from programs.prescription.substitutes import ExerciseConflict

Outcome = Literal["assigned", "conflict", "refused"]


@dataclass(frozen=True, slots=True)
class ClientStart:
    """A client in an assignment, with what differs from the call's own terms; None means the same."""

    client_id: UUID
    start_date: date | None = None
    weekdays: Sequence[int] | None = None


@dataclass(frozen=True, slots=True)
class AssignmentTerms:
    """How the clients of one call follow the version, unless their own entry says otherwise.

    Attributes:
        calendar: the kind of calendar.
        start_date: local date of each client.
        weekdays: for fixed days; None for each client's own.
        late_after_days: for a sequence.
        alert_past: whether coaches are also told of what was missed before it was assigned.
    """

    calendar: str
    start_date: date
    weekdays: Sequence[int] | None = None
    late_after_days: int | None = None
    alert_past: bool = False


@dataclass(frozen=True, slots=True)
class AssignmentResult:
    """What became of one client of the call.

    Attributes:
        client_id: as named in the call.
        outcome: `assigned`, `conflict` (the client's state or terms forbid it) or `refused` (not found).
        code: why not; empty when assigned.
        detail: a sentence that says what to change; empty when assigned.
        assignment_id: the new assignment.
        session_count: how many sessions were planned.
        first_date: local date of the first.
        last_date: local date of the last.
        needs_reference: reference loads that are missing.
        warnings: what does not fit the client.
        conflicts: the exercises among that, each with what is proposed in its place.
    """

    client_id: UUID
    outcome: Outcome
    code: str = ""
    detail: str = ""
    assignment_id: UUID | None = None
    session_count: int = 0
    first_date: date | None = None
    last_date: date | None = None
    needs_reference: tuple[MissingReference, ...] = ()
    warnings: tuple[FitWarning, ...] = ()
    conflicts: tuple[ExerciseConflict, ...] = ()
