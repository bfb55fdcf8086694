"""Planned sessions against what was done of them."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from logs.analysis.facts import PlannedFact
from logs.analysis.rounding import round_half_even_6
from programs.prescription.session_states import State

NEUTRAL_STATES: Final[frozenset[State]] = frozenset({"excused", "paused"})
"""Sessions that count neither for nor against anyone. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionCounts:
    """Sessions of a planned week. `planned` leaves out the excused, among whom paused ones are counted."""

    planned: int
    done: int
    part_done: int
    done_late: int
    missed: int
    excused: int


def session_counts(planned: Iterable[PlannedFact]) -> SessionCounts:
    """Count a week's planned sessions by state.

    Args:
        planned: The sessions planned in the week.

    Returns:
        The counts; a session moved inside its week is done.

    Source: practice.
    """
    states = [fact.state for fact in planned]
    return SessionCounts(
        planned=sum(state not in NEUTRAL_STATES for state in states),
        done=states.count("done"),
        part_done=states.count("part_done"),
        done_late=states.count("done_late"),
        missed=states.count("missed"),
        excused=sum(state in NEUTRAL_STATES for state in states),
    )


def session_adherence(planned: Iterable[PlannedFact]) -> Decimal | None:
    """Say what share of the planned sessions was done.

    Args:
        planned: The sessions planned in the week.

    Returns:
        Done and done late count 1, part done its share of work sets (at most 1, rounded half-even to six places
        first), everything else 0; their mean rounded half-even to six places. Excused and paused sessions are left
        out; None when none is left.

    Source: practice.
    """
    shares = [_share(fact) for fact in planned if fact.state not in NEUTRAL_STATES]
    return round_half_even_6(sum(map(Fraction, shares), Fraction(0)) / len(shares)) if shares else None


def _share(fact: PlannedFact) -> Decimal:
    if fact.state in {"done", "done_late"}:
        return Decimal(1)
    if fact.state != "part_done" or fact.planned_work_sets == 0:
        return Decimal(0)
    return round_half_even_6(min(Fraction(1), Fraction(fact.done_work_sets, fact.planned_work_sets)))
