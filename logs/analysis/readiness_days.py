"""What the flags made of days gone by, as it is known now: the same verdict as the morning page, for each day.

A log that came late counts on the day it is of, and a flag stood on each day from the one it opened on to the one
before it closed. Missing data never reads as nothing noted.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from coaching.measures.local_calendar import DateSpan
from logs.analysis.attendance import ATTENDED_STATES
from logs.analysis.overview import (
    DueSession,
    MorningFacts,
    OverviewPolicy,
    Readiness,
    Source,
    StandingFlag,
    readiness,
)
from programs.prescription.session_states import State


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedDay:
    """A planned session as a verdict reads it.

    Attributes:
        local_date: The date that it was planned for.
        window_start: The first day on which doing it was on time.
        performed_on: The day it was done; None when it was not.
        state: Its state now.
    """

    local_date: date
    window_start: date
    performed_on: date | None
    state: State


@dataclass(frozen=True, slots=True, kw_only=True)
class FlagSpan:
    """A flag with the days on which it stood; `closed_on` None while it stands."""

    flag: StandingFlag
    opened_on: date
    closed_on: date | None

    def stood_on(self, day: date) -> bool:
        """Say whether it stood at the end of a day."""
        return self.opened_on <= day and (self.closed_on is None or self.closed_on > day)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadinessHistory:
    """What is known of a client's last weeks.

    Attributes:
        coached: Whether the client is being coached.
        planned: Planned sessions.
        session_days: Local dates with a session log.
        rated_days: Those with a session's rating.
        check_in_days: Local dates with a check-in.
        wellness_days: Those with one of the four scales.
        resting_hr_days: Those with a resting heart rate.
        hrv_days: Those with heart rate variability.
        away: Absences and pauses of what the client follows.
        flags: Flags of the client.
    """

    coached: bool = True
    planned: Sequence[PlannedDay] = ()
    session_days: frozenset[date] = frozenset()
    rated_days: frozenset[date] = frozenset()
    check_in_days: frozenset[date] = frozenset()
    wellness_days: frozenset[date] = frozenset()
    resting_hr_days: frozenset[date] = frozenset()
    hrv_days: frozenset[date] = frozenset()
    away: Sequence[DateSpan] = ()
    flags: Sequence[FlagSpan] = field(default=())


_DEFAULT = OverviewPolicy()


def readiness_on(history: ReadinessHistory, day: date, policy: OverviewPolicy = _DEFAULT) -> Readiness:
    """Say what a client's flags made of a day that is over.

    Args:
        history: What is known now.
        day: The client's local date, before today.
        policy: What the business may change.

    Returns:
        The verdict of that day's end. It is `unknown` where a session was due and nothing was logged since, or where
        nothing was due at all.

    Source: practice.
    """
    return readiness(_facts(history, day, policy), policy)


def _facts(history: ReadinessHistory, day: date, policy: OverviewPolicy) -> MorningFacts:
    return MorningFacts(
        today=day,
        coached=history.coached,
        away=any(day in span for span in history.away),
        last_due=_last_due(history.planned, day, policy),
        last_session_on=_latest(history.session_days, day),
        last_check_in_on=_latest(history.check_in_days, day),
        written_until=max((one.local_date for one in history.planned), default=None),
        evaluated_on=day,
        measured=_measured(history, day, policy),
        flags=tuple(span.flag for span in history.flags if span.stood_on(day)),
    )


def _last_due(planned: Sequence[PlannedDay], day: date, policy: OverviewPolicy) -> DueSession | None:
    since = day - timedelta(days=policy.recent_days)
    due = [
        (one.local_date, _attended_by(one, day), min(one.window_start, one.performed_on or one.window_start))
        for one in planned
        if since <= one.local_date and (_attended_by(one, day) or _overdue(one, day))
    ]
    if not due:
        return None
    local_date, attended, first = max(due)
    return DueSession(local_date=local_date, since=first, attended=attended)


def _attended_by(one: PlannedDay, day: date) -> bool:
    return one.state in ATTENDED_STATES and one.performed_on is not None and one.performed_on <= day


def _overdue(one: PlannedDay, day: date) -> bool:
    # Excused and paused ones are expected of nobody; one done afterwards had been due all the same.
    expected = one.state in ATTENDED_STATES or one.state in ("missed", "planned")
    return expected and one.local_date < day


def _latest(days: frozenset[date], day: date) -> date | None:
    return max((one for one in days if one <= day), default=None)


def _measured(history: ReadinessHistory, day: date, policy: OverviewPolicy) -> frozenset[Source]:
    logged: dict[Source, frozenset[date]] = {
        "session_log": history.session_days,
        "session_rpe": history.rated_days,
        "wellness": history.wellness_days,
        "resting_heart_rate": history.resting_hr_days,
        "heart_rate_variability": history.hrv_days,
    }
    since = day - timedelta(days=policy.measured_days)
    return frozenset(source for source, days in logged.items() if any(since < one <= day for one in days))
