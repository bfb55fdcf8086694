"""The same work at more effort than lately: the same lift, tempo class, load and repetitions.

A description of the person's own history. Effort is told by the person, to about a point.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from statistics import median
from typing import Final

from coaching.measures.local_calendar import DateSpan
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.readiness import RuleState, evidence_token
from logs.analysis.references import PRACTICE, RESERVE

CAUTION: Final = (
    "Told effort is uncertain by about a point, and sleep, food, heat or a hard week raise it. It is no diagnosis and "
    "predicts no injury: ask how training feels before changing anything."
)
"""Said with every rise of effort. Practice."""

SOURCE: Final = f"{PRACTICE}; exertion by repetitions in reserve: {RESERVE}"
"""Where the rule comes from. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EffortExposure:
    """Sets of one session that are alike: one lift, load and number of repetitions.

    Attributes:
        session: Names the session log.
        local_date: Its local date.
        exercise: The exercise's key.
        line: What else must be alike: side, tempo class, place, machine and load basis.
        load_kg: The load, in its basis.
        reps: The repetitions.
        rpe: Mean exertion of the sets, 0 to 10.
        planned_rpe: Exertion that the plan asked; None where it asked none.
        deload: The session belongs to a planned deload.
    """

    session: str
    local_date: date
    exercise: str
    line: str
    load_kg: Decimal
    reps: int
    rpe: Decimal
    planned_rpe: Decimal | None = None
    deload: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class EffortCreepPolicy:
    """What a business may change about the rule."""

    rise_rpe: Decimal = Decimal(1)
    """Exertion above the median of earlier times that is a rise. Practice."""

    earlier_sessions: int = 4
    """Latest comparable sessions of which the median is taken; fewer are not compared. Practice."""

    load_ratio: Decimal = Decimal("0.02")
    """Share by which loads may differ and be one. Practice."""

    sessions_running: int = 2
    """Compared sessions of a lift running that raise the flag. Practice."""

    lifts_in_a_week: int = 3
    """Lifts that rose within seven days that raise the flag. Practice; two cry out thrice as often for nothing."""

    days_in_a_week: int = 3
    """Days on which they must have: one hard day moves every lift at once. Practice."""

    recent_days: int = 14
    """A rise that lies longer back says nothing of today. Practice."""

    gap_days: int = 14
    """Days without training that are a gap, and days after it that are not compared. Practice."""


@dataclass(frozen=True, slots=True)
class _Rise:
    session: str
    local_date: date
    exercise: str
    rpe: Decimal


_DEFAULT = EffortCreepPolicy()


def effort_creep_states(
    exposures: Iterable[EffortExposure],
    today: date,
    absences: Collection[DateSpan] = (),
    built_weeks: Collection[date] = (),
    policy: EffortCreepPolicy = _DEFAULT,
) -> list[RuleState]:
    """Say where the same work has come to cost more effort.

    Args:
        exposures: The client's, in any order; of about eight weeks.
        today: The client's local date.
        absences: Spans that count for nothing.
        built_weeks: First days of weeks that the program planned as a build.
        policy: What the business may change.

    Returns:
        One state for each lift that rose in sessions running, or that is one of three or more that rose within a week,
        on three or more days; scope `exercise:<key>`. Deloads, planned builds, sessions of which the plan itself asked
        more effort, absent days and the days after a gap are left out.

    Source: practice.
    """
    kept = _kept(list(exposures), absences, built_weeks, policy)
    lines: defaultdict[tuple[str, str], list[EffortExposure]] = defaultdict(list)
    for one in kept:
        lines[one.exercise, one.line].append(one)
    rises = {line: _rises(own, policy) for line, own in lines.items()}
    running = [rise for own in rises.values() for rise in _running(own, today, policy)]
    first = today - timedelta(days=DAYS_PER_WEEK - 1)
    in_week = [
        one for own in rises.values() for one in own if first <= one.local_date <= today and one.rpe >= policy.rise_rpe
    ]
    if not _on_lifts_and_days(in_week, policy):
        in_week = []
    by_lift: defaultdict[str, set[_Rise]] = defaultdict(set)
    for rise in (*running, *in_week):
        by_lift[rise.exercise].add(rise)
    return [_state(lift, sorted(own, key=_in_order), policy) for lift, own in sorted(by_lift.items())]


def _kept(
    exposures: Sequence[EffortExposure],
    absences: Collection[DateSpan],
    built_weeks: Collection[date],
    policy: EffortCreepPolicy,
) -> list[EffortExposure]:
    trained = sorted({one.local_date for one in exposures})
    gap = timedelta(days=policy.gap_days)
    returns = [later for earlier, later in pairwise(trained) if later - earlier >= gap]
    builds = [DateSpan(week, week + timedelta(days=DAYS_PER_WEEK - 1)) for week in built_weeks]
    out = [*absences, *builds, *(DateSpan(day, day + gap - timedelta(days=1)) for day in returns)]
    return [one for one in exposures if not one.deload and not any(one.local_date in span for span in out)]


def _rises(exposures: Sequence[EffortExposure], policy: EffortCreepPolicy) -> list[_Rise]:
    """Compare each session of a line with those before it, oldest first; those with nothing to compare are left out."""
    sessions: defaultdict[tuple[date, str], list[EffortExposure]] = defaultdict(list)
    for one in exposures:
        sessions[one.local_date, one.session].append(one)
    before: list[EffortExposure] = []
    found = []
    for (day, session), own in sorted(sessions.items(), key=lambda item: item[0]):
        compared = [rise for one in own if (rise := _rise(one, before, policy)) is not None]
        if compared:
            found.append(_Rise(session, day, own[0].exercise, median(compared)))
        before.extend(own)
    return found


def _rise(one: EffortExposure, before: Sequence[EffortExposure], policy: EffortCreepPolicy) -> Decimal | None:
    alike: dict[str, EffortExposure] = {}
    for other in reversed(before):
        near = abs(other.load_kg - one.load_kg) <= policy.load_ratio * max(abs(other.load_kg), abs(one.load_kg))
        if other.reps == one.reps and near:
            alike.setdefault(other.session, other)
        if len(alike) == policy.earlier_sessions:
            break
    earlier = list(alike.values())
    if len(earlier) < policy.earlier_sessions or _planned_so(one, earlier, policy):
        return None
    return one.rpe - median(other.rpe for other in earlier)


def _planned_so(one: EffortExposure, earlier: Iterable[EffortExposure], policy: EffortCreepPolicy) -> bool:
    asked = [other.planned_rpe for other in earlier if other.planned_rpe is not None]
    return one.planned_rpe is not None and bool(asked) and one.planned_rpe - median(asked) >= policy.rise_rpe


def _running(rises: Sequence[_Rise], today: date, policy: EffortCreepPolicy) -> list[_Rise]:
    last = list(rises[-policy.sessions_running :])
    recent = bool(last) and (today - last[-1].local_date).days <= policy.recent_days
    holds = recent and len(last) == policy.sessions_running and all(one.rpe >= policy.rise_rpe for one in last)
    return last if holds else []


def _on_lifts_and_days(rises: Sequence[_Rise], policy: EffortCreepPolicy) -> bool:
    lifts, days = {one.exercise for one in rises}, {one.local_date for one in rises}
    return len(lifts) >= policy.lifts_in_a_week and len(days) >= policy.days_in_a_week


def _in_order(one: _Rise) -> tuple[date, str]:
    return one.local_date, one.session


def _state(lift: str, found: Sequence[_Rise], policy: EffortCreepPolicy) -> RuleState:
    last = found[-1]
    return RuleState(
        kind="effort_creep",
        scope=f"exercise:{lift}",
        holds=True,
        action="no_increase",
        sentence=(
            f"On {last.local_date} the same load and repetitions of {lift} cost {last.rpe:.1f} of exertion more than "
            f"the median of the {policy.earlier_sessions} sessions before."
        ),
        figures={
            "rises_rpe": [f"{one.local_date}: {one.rpe:+.1f}" for one in found],
            "earlier_sessions": policy.earlier_sessions,
        },
        rule=(
            f"Exertion {policy.rise_rpe.normalize():f} or more above the median of the last {policy.earlier_sessions} "
            f"sessions of the same lift, tempo class, load within {(policy.load_ratio * 100).normalize():f} % and "
            f"repetitions, in {policy.sessions_running} sessions running or on {policy.lifts_in_a_week} lifts "
            f"within a week, on {policy.days_in_a_week} days or more; not where the plan asked more, nor within "
            f"{policy.gap_days} days of a gap of as many."
        ),
        source=SOURCE,
        caution=CAUTION,
        evidence=tuple(evidence_token(f"{one.session}:{one.exercise}") for one in found),
    )
