"""Lifts whose tempo was often not kept, of those that a device or video measured."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final

from coaching.measures.local_calendar import DateSpan
from logs.analysis.readiness import RuleState, evidence_token
from logs.analysis.references import PRACTICE

CAUTION: Final = (
    "Only what was measured is judged, against the tempo asked; a device may err, and a slow repetition near failure "
    "is no fault. Look at a set before correcting it."
)
"""Said with every flag about tempo. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredSet:
    """A set whose tempo was judged by measured phases.

    Attributes:
        session: Names the session log.
        local_date: Its local date.
        exercise: The exercise's key.
        faulty: Whether it had a fault of any kind.
    """

    session: str
    local_date: date
    exercise: str
    faulty: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoFaultPolicy:
    """What a business may change about the rule."""

    last_sessions: int = 3
    """Latest measured sessions of a lift looked at; fewer are not judged. Practice."""

    least_sets: int = 6
    """Fewest measured sets among them. Practice."""

    faulty_ratio: Decimal = Decimal("0.5")
    """Share of the sets with a fault above which the flag is raised. Practice."""

    within_days: int = 42
    """Sessions longer ago say nothing of today. Practice."""


@dataclass(frozen=True, slots=True)
class _Lift:
    exercise: str
    sets: tuple[MeasuredSet, ...]

    @property
    def faulty(self) -> int:
        return sum(one.faulty for one in self.sets)


_DEFAULT = TempoFaultPolicy()


def tempo_faults_states(
    sets: Iterable[MeasuredSet],
    today: date,
    absences: Collection[DateSpan] = (),
    policy: TempoFaultPolicy = _DEFAULT,
) -> list[RuleState]:
    """Say on which lifts the tempo is often not kept.

    Args:
        sets: The client's measured sets, in any order.
        today: The client's local date.
        absences: Spans that count for nothing.
        policy: What the business may change.

    Returns:
        One state for each lift above the bound, scope `exercise:<key>`.

    Source: practice.
    """
    since = today - timedelta(days=policy.within_days)
    by_lift: defaultdict[str, list[MeasuredSet]] = defaultdict(list)
    for one in sets:
        if one.local_date >= since and not any(one.local_date in span for span in absences):
            by_lift[one.exercise].append(one)
    lifts = [lift for key, own in sorted(by_lift.items()) if (lift := _judged(key, own, policy)) is not None]
    return [_state(lift, policy) for lift in lifts if lift.faulty > policy.faulty_ratio * len(lift.sets)]


def _judged(exercise: str, sets: Sequence[MeasuredSet], policy: TempoFaultPolicy) -> _Lift | None:
    sessions = sorted({(one.local_date, one.session) for one in sets})[-policy.last_sessions :]
    own = tuple(one for one in sets if (one.local_date, one.session) in sessions)
    enough = len(sessions) == policy.last_sessions and len(own) >= policy.least_sets
    return _Lift(exercise, own) if enough else None


def _state(lift: _Lift, policy: TempoFaultPolicy) -> RuleState:
    faulty = sorted({(one.local_date, one.session) for one in lift.sets if one.faulty})
    return RuleState(
        kind="tempo_faults",
        scope=f"exercise:{lift.exercise}",
        holds=True,
        severity="note",
        sentence=(
            f"The tempo asked of {lift.exercise} was not kept in {lift.faulty} of {len(lift.sets)} sets of its last "
            f"{policy.last_sessions} measured sessions."
        ),
        figures={"faulty_sets": lift.faulty, "sets": len(lift.sets), "sessions": policy.last_sessions},
        rule=(
            f"Over the last {policy.last_sessions} measured sessions of a lift ({policy.least_sets} sets at least), "
            f"more than {(policy.faulty_ratio * 100).normalize():f} % of the sets with a fault of tempo."
        ),
        source=PRACTICE,
        caution=CAUTION,
        evidence=tuple(evidence_token(session) for _day, session in faulty),
    )
