"""A client's lift lines: weekly values, trends, matched comparisons, records; statements do not grow with the weeks."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from statistics import median
from uuid import UUID

from coaching.policy import Principal
from coaching.refusals import NotFound
from coaching.selectors.clients import get_client
from logs.analysis.detectable_changes import AveragedChange, averaged_change
from logs.analysis.lift_lines import LiftLine
from logs.analysis.lift_records import Record, records
from logs.analysis.side_differences import SideDifference, side_difference
from logs.analysis.strength import Formula
from logs.selectors.lift_lines import LiftLineFound, LiftsFound, lifts_of
from programs.prescription.structure import ExerciseFacts
from programs.selectors.exercises import exercise_facts, get_exercise


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRecords:
    """A line's records of all time, and its latest sessions against those before."""

    records: tuple[Record, ...]
    averaged: AveragedChange


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftFound:
    """One lift of a client: its lines with their records, and left against right.

    Attributes:
        exercise: the lift.
        lifts: its lines.
        records: of each line, in the same order.
        sides: by what else is alike (tempo class, place, machine), the left against the right.
    """

    exercise: ExerciseFacts
    lifts: LiftsFound
    records: Sequence[LineRecords]
    sides: Sequence[tuple[LiftLine, SideDifference]]


def list_lifts(*, actor: Principal, client_id: UUID, weeks: int, formula: Formula, now: datetime) -> LiftsFound:
    """Return all lift lines of a client over the last weeks, the present one among them.

    Raises:
        NotFound: there is no such client that the caller may see.
    """
    client = get_client(actor=actor, client_id=client_id)
    return lifts_of(client=client, weeks=weeks, formula=formula, now=now)


def get_lift(
    *, actor: Principal, client_id: UUID, exercise: str, weeks: int, formula: Formula, now: datetime
) -> LiftFound:
    """Return one lift of a client, line by line, with records and the difference between sides.

    Args:
        actor: who calls.
        client_id: whose.
        exercise: its id or key.
        weeks: how many, the present one among them.
        formula: of every estimate.
        now: the present instant.

    Raises:
        NotFound: there is no such client that the caller may see, or no such exercise.
    """
    client = get_client(actor=actor, client_id=client_id)
    key = get_exercise(exercise).key
    found = lifts_of(client=client, weeks=weeks, formula=formula, exercise=key, now=now)
    known = exercise_facts([key]).get(key) if not found.lines else found.lines[0].exercise
    if known is None:
        raise NotFound("There is no exercise with this id or key; GET /api/v1/exercises lists them.")
    return LiftFound(
        exercise=known,
        lifts=found,
        records=[
            LineRecords(records=records(one.ever, found.unit), averaged=averaged_change(one.kept, found.unit))
            for one in found.lines
        ],
        sides=_sides(found),
    )


def _sides(found: LiftsFound) -> list[tuple[LiftLine, SideDifference]]:
    """Hold left against right wherever all else is alike; a body that moves both sides counts in percents alike."""
    by_line = {one.line: one for one in found.lines}
    pairs = []
    for line, left in by_line.items():
        right = by_line.get(LiftLine(line.exercise, "right", *line[2:]))
        if line.side == "left" and right is not None:
            pairs.append((line, side_difference(_weekly(left), _weekly(right), _body_of(left))))
    return pairs


def _weekly(side: LiftLineFound) -> dict[date, Decimal]:
    return {one.week_start: one.value_kg for one in side.points if not one.left_out}


def _body_of(one: LiftLineFound) -> Decimal | None:
    if one.exercise is None or one.exercise.load_basis != "added":
        return Decimal(0)
    bodies = [best.body_kg for session in one.kept if (best := session.best).body_kg is not None]
    return median(bodies) if bodies else None
