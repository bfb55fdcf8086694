"""What is asked of a move to another version, and what became of each assignment."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from programs.prescription.client_fit import FitWarning
from programs.prescription.snapshot import MissingReference
from programs.prescription.substitutes import ExerciseConflict

MoveOutcome = Literal["moved", "conflict", "refused"]


@dataclass(frozen=True, slots=True)
class VersionMove:
    """An assignment to move, and from when on; with the weekdays from then on where they change."""

    assignment_id: UUID
    from_date: date
    weekdays: Sequence[int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeWithoutPlace:
    """A one-off change that the new version has no place for; it is kept, and holds again if a version has one."""

    week_number: int
    day_number: int
    slot_key: str
    detail: str


@dataclass(frozen=True, slots=True)
class VersionMoveResult:
    """What became of one assignment of the call.

    Attributes:
        assignment_id: as named in the call.
        outcome: `moved`, `conflict` (its state or terms forbid it) or `refused` (not found).
        code: why not; empty when moved.
        detail: a sentence that says what to change; empty when moved.
        client_id: whose it is; None where it was not found.
        from_date: the local date from which the version holds.
        rewritten_count: sessions to come that the new version prescribes now.
        added_count: sessions that the new version has more.
        removed_count: sessions to come that it does not have.
        last_date: local date of the last session.
        needs_reference: reference loads that are missing.
        changes_without_place: one-off changes that don't fit the new version.
        warnings: in what the sessions to come do not fit the client, apart from what they do a substitute for.
        conflicts: the exercises among that, each with what is proposed in its place.
    """

    assignment_id: UUID
    outcome: MoveOutcome
    code: str = ""
    detail: str = ""
    client_id: UUID | None = None
    from_date: date | None = None
    rewritten_count: int = 0
    added_count: int = 0
    removed_count: int = 0
    last_date: date | None = None
    needs_reference: tuple[MissingReference, ...] = ()
    changes_without_place: tuple[ChangeWithoutPlace, ...] = ()
    warnings: tuple[FitWarning, ...] = ()
    conflicts: tuple[ExerciseConflict, ...] = ()
