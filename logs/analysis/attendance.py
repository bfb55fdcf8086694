"""Who stays away: sessions missed in a row, and people who have gone quiet.

Excused and paused sessions and absent days are neutral: they neither break a run nor count in it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from statistics import median
from typing import Final

from coaching.measures.local_calendar import DateSpan
from logs.analysis.adherence import NEUTRAL_STATES
from logs.analysis.constants import DAYS_PER_WEEK
from logs.analysis.readiness import RuleState, evidence_token
from programs.prescription.session_states import State

ATTENDED_STATES: Final[frozenset[State]] = frozenset({"started", "done", "part_done", "done_late"})
"""States in which the person came at all. Practice."""

QUIET_CAUTION: Final = "Silence has many reasons, and a log may still arrive late: ask before concluding anything."
"""Said with every flag about absence. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AttendedSession:
    """A planned session on a fixed day or in a sequence; `identity` names it."""

    identity: str
    local_date: date
    state: State


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatingWeek:
    """A week whose sessions float: how many were due (excused ones left out) and attended, and whether it is over."""

    week_start: date
    due: int
    attended: int
    over: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AttendancePolicy:
    """What a business may change about attendance."""

    missed_sessions: int = 2
    """Planned sessions missed running that raise the flag. Practice."""

    floating_weeks: int = 2
    """Floating weeks running with under half done that raise the flag. Practice."""

    escalate_sessions: int = 3
    """Sessions missed running from which the flag says that it is time to escalate. Practice."""

    quiet_min_days: int = 4
    """The least silence that raises the flag. Practice."""

    quiet_max_days: int = 10
    """The silence that always raises the flag. Practice."""

    quiet_gap_ratio: int = 2
    """Silence over this multiple of the person's own median gap raises the flag. Practice."""

    never_started_days: int = 3
    """Days after the start without any contact that raise the flag. Practice."""


_DEFAULT = AttendancePolicy()
_ONE_DAY = timedelta(days=1)


def missed_in_a_row_state(
    sessions: Iterable[AttendedSession],
    floating_weeks: Iterable[FloatingWeek] = (),
    absences: Sequence[DateSpan] = (),
    policy: AttendancePolicy = _DEFAULT,
) -> RuleState:
    """Say whether the last planned sessions were missed.

    Args:
        sessions: Planned sessions that do not float, in any order; those still `planned` are not looked at.
        floating_weeks: Weeks of floating sessions, in any order; only weeks that are over and had some due count.
        absences: Spans that count for nothing.
        policy: What the business may change.

    Returns:
        The state, scope `all`: it holds when the latest settled sessions were missed running, or the latest floating
        weeks had under half done.

    Source: practice.
    """
    run = _missed_run(sessions, absences)
    weeks = _poor_weeks(floating_weeks, absences)
    rule = (
        f"{policy.missed_sessions} planned sessions missed running; with floating days under half of a week done, "
        f"{policy.floating_weeks} weeks running. Excused and absent days do not count."
    )
    enough_weeks = len(weeks) >= policy.floating_weeks
    if len(run) < policy.missed_sessions and not enough_weeks:
        nothing = f"Missed running: {len(run)} sessions, {len(weeks)} floating weeks under half."
        return RuleState(kind="missed_in_a_row", holds=False, sentence=nothing, rule=rule)
    if len(run) >= policy.missed_sessions:
        sentence = f"{len(run)} planned sessions missed running, the last on {run[-1].local_date}."
    else:
        sentence = (
            f"Under half of the sessions done in {len(weeks)} weeks running, the last from {weeks[-1].week_start}."
        )
    return RuleState(
        kind="missed_in_a_row",
        holds=True,
        action="contact",
        sentence=sentence,
        figures={
            "missed_sessions": len(run),
            "floating_weeks_under_half": len(weeks),
            "missed_on": [session.local_date.isoformat() for session in run],
            "escalate": "yes" if len(run) >= policy.escalate_sessions else "no",
        },
        rule=rule,
        caution=QUIET_CAUTION,
        evidence=(
            *(f"week:{week.week_start.isoformat()}" for week in weeks),
            *(evidence_token(session.identity) for session in run),
        ),
    )


def gone_quiet_state(
    *,
    today: date,
    start_date: date | None,
    contact_dates: Iterable[date],
    absences: Sequence[DateSpan] = (),
    policy: AttendancePolicy = _DEFAULT,
) -> RuleState:
    """Say whether a person has gone quiet.

    Args:
        today: The client's local date; not over yet, so it is not a silent day.
        start_date: When the client's program started or starts; None without one.
        contact_dates: Local dates with a contact of any kind (log, check-in, words), in any order.
        absences: Spans of absence and of pause; their days are not silent days.
        policy: What the business may change.

    Returns:
        The state, scope `all`. It holds when the silent days since the last contact reach the bound: twice the
        person's own median gap, at least 4 and at most 10 days; or, with no contact since the start, when the days
        since the start reach 3 (figure `case`: `never_started`). Never while the client is absent today.

    Source: practice.
    """
    rule = (
        f"No contact for {policy.quiet_gap_ratio} times the own median gap, at least {policy.quiet_min_days} and at "
        f"most {policy.quiet_max_days} days; or none at all {policy.never_started_days} days after the start."
    )
    idle = RuleState(kind="gone_quiet", holds=False, sentence="Nothing is planned, or the client is absent.", rule=rule)
    if start_date is None or today < start_date or any(today in absence for absence in absences):
        return idle
    contacts = sorted({day for day in contact_dates if start_date <= day <= today})
    if not contacts:
        waited = _present_days(start_date, today, absences)
        return _quiet_state(waited, Decimal(policy.never_started_days), None, start_date, rule)
    bound = _quiet_bound(contacts, absences, policy)
    silent = _present_days(contacts[-1] + _ONE_DAY, today, absences)
    return _quiet_state(silent, bound, contacts[-1], start_date, rule)


def _missed_run(sessions: Iterable[AttendedSession], absences: Sequence[DateSpan]) -> list[AttendedSession]:
    run: list[AttendedSession] = []
    for session in sorted(sessions, key=lambda one: (one.local_date, one.identity)):
        neutral = session.state in NEUTRAL_STATES or any(session.local_date in absence for absence in absences)
        if session.state in ATTENDED_STATES:
            run = []
        elif session.state == "missed" and not neutral:
            run.append(session)
    return run


def _poor_weeks(weeks: Iterable[FloatingWeek], absences: Sequence[DateSpan]) -> list[FloatingWeek]:
    run: list[FloatingWeek] = []
    for week in sorted(weeks, key=lambda one: one.week_start):
        absent = any(
            week.week_start + timedelta(days=day) in absence for absence in absences for day in range(DAYS_PER_WEEK)
        )
        if not week.over or week.due == 0 or absent:
            continue
        run = [*run, week] if 2 * week.attended < week.due else []
    return run


def _present_days(first: date, until: date, absences: Sequence[DateSpan]) -> int:
    """Count the days from `first` to the one before `until` on which the person was not absent."""
    days = (first + timedelta(days=offset) for offset in range((until - first).days))
    return sum(not any(day in absence for absence in absences) for day in days)


def _quiet_bound(contacts: Sequence[date], absences: Sequence[DateSpan], policy: AttendancePolicy) -> Decimal:
    gaps = [Decimal(_present_days(one, other, absences)) for one, other in pairwise(contacts)]
    own = policy.quiet_gap_ratio * median(gaps) if gaps else Decimal(0)
    return min(Decimal(policy.quiet_max_days), max(Decimal(policy.quiet_min_days), own))


def _quiet_state(silent: int, bound: Decimal, last: date | None, start_date: date, rule: str) -> RuleState:
    since = "the start on" if last is None else "the last contact on"
    day = start_date if last is None else last
    return RuleState(
        kind="gone_quiet",
        holds=silent >= bound,
        action="contact",
        sentence=f"{silent} days without any contact since {since} {day}; the bound is {bound}.",
        figures={
            "case": "never_started" if last is None else "gone_quiet",
            "silent_days": silent,
            "bound_days": str(bound),
            "since": day.isoformat(),
        },
        rule=rule,
        caution=QUIET_CAUTION,
        evidence=(f"since:{day.isoformat()}",),
    )
