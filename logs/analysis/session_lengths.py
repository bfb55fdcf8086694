"""Sessions that often end early, and sessions that often take longer than planned."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final

from coaching.measures.local_calendar import DateSpan
from logs.analysis.facts import SessionFact
from logs.analysis.readiness import FlagKind, RuleState, Severity, evidence_token
from logs.analysis.session_pace import performed_minutes
from programs.prescription.session_states import State

CUT_SHORT_CAUTION: Final = (
    "Why a session ended early is not known from this: time, equipment, pain or choice. Ask before changing anything."
)
"""Said with every flag about sessions cut short. Practice."""

TOO_LONG_CAUTION: Final = (
    "Minutes are as logged, breaks and waiting among them. They say that the plan does not fit the time, not why."
)
"""Said with every flag about sessions that take too long. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PerformedSession:
    """A planned session that was done, at least in part.

    Attributes:
        identity: Names it.
        local_date: The date that it was planned for.
        state: `done`, `done_late` or `part_done`.
        planned_high_min: Its planned high time.
        logs: All session logs of it.
    """

    identity: str
    local_date: date
    state: State
    planned_high_min: Decimal
    logs: tuple[SessionFact, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLengthPolicy:
    """What a business may change about both rules."""

    last_sessions: int = 5
    """Performed planned sessions looked at. Practice."""

    raising_sessions: int = 3
    """Of them, those cut short or too long that raise the flag. Practice."""

    over_planned_ratio: Decimal = Decimal("1.25")
    """Minutes over this multiple of the planned high time are too long. Practice."""

    within_days: int = 42
    """Sessions planned longer ago say nothing of today. Practice."""


_DEFAULT = SessionLengthPolicy()


def sessions_cut_short_state(
    performed: Iterable[PerformedSession],
    today: date,
    absences: Sequence[DateSpan] = (),
    policy: SessionLengthPolicy = _DEFAULT,
) -> RuleState:
    """Say whether the last sessions often ended before their sets were done.

    Args:
        performed: Planned sessions done at least in part, in any order.
        today: The client's local date.
        absences: Spans that count for nothing.
        policy: What the business may change.

    Returns:
        The state, scope `all`.

    Source: practice.
    """
    last = _latest(performed, today, absences, policy)
    cut = [one for one in last if one.state == "part_done"]
    return _state(
        "sessions_cut_short",
        cut,
        last,
        policy,
        severity="watch",
        what="ended before their sets were done",
        rule=f"{policy.raising_sessions} of the last {policy.last_sessions} performed sessions done only in part.",
        caution=CUT_SHORT_CAUTION,
    )


def session_too_long_state(
    performed: Iterable[PerformedSession],
    today: date,
    absences: Sequence[DateSpan] = (),
    policy: SessionLengthPolicy = _DEFAULT,
) -> RuleState:
    """Say whether the last sessions often took longer than planned.

    Args:
        performed: Planned sessions done at least in part, in any order; of unknown minutes a session counts as not
            too long.
        today: The client's local date.
        absences: Spans that count for nothing.
        policy: What the business may change.

    Returns:
        The state, scope `all`.

    Source: practice.
    """
    last = _latest(performed, today, absences, policy)
    over = [one for one in last if _too_long(one, policy)]
    return _state(
        "session_too_long",
        over,
        last,
        policy,
        severity="note",
        what=f"took over {policy.over_planned_ratio.normalize():f} times their planned high time",
        rule=(
            f"{policy.raising_sessions} of the last {policy.last_sessions} performed sessions took over "
            f"{policy.over_planned_ratio.normalize():f} times their planned high time; unknown minutes count as not so."
        ),
        caution=TOO_LONG_CAUTION,
        figures={"minutes": [_minutes_words(one) for one in over]},
    )


def _latest(
    performed: Iterable[PerformedSession], today: date, absences: Sequence[DateSpan], policy: SessionLengthPolicy
) -> list[PerformedSession]:
    since = today - timedelta(days=policy.within_days)
    present = [
        one for one in performed if one.local_date >= since and not any(one.local_date in span for span in absences)
    ]
    return sorted(present, key=lambda one: (one.local_date, one.identity))[-policy.last_sessions :]


def _too_long(one: PerformedSession, policy: SessionLengthPolicy) -> bool:
    minutes = performed_minutes(one.logs)
    return minutes is not None and minutes > policy.over_planned_ratio * one.planned_high_min


def _minutes_words(one: PerformedSession) -> str:
    minutes = performed_minutes(one.logs) or Decimal(0)
    return f"{one.local_date}: {minutes.normalize():f} of {one.planned_high_min.normalize():f}"


def _state(
    kind: FlagKind,
    found: Sequence[PerformedSession],
    last: Sequence[PerformedSession],
    policy: SessionLengthPolicy,
    *,
    severity: Severity,
    what: str,
    rule: str,
    caution: str,
    figures: dict[str, list[str]] | None = None,
) -> RuleState:
    return RuleState(
        kind=kind,
        holds=len(found) >= policy.raising_sessions,
        severity=severity,
        sentence=f"{len(found)} of the last {len(last)} performed sessions {what}.",
        figures={
            "sessions": len(last),
            "found": len(found),
            "dates": [one.local_date.isoformat() for one in found],
            **(figures or {}),
        },
        rule=rule,
        caution=caution,
        evidence=tuple(evidence_token(one.identity) for one in found),
    )
