"""The morning page: where each client stands today, what their flags make of the day, and who comes first.

What is missing never reads as "nothing noted": that needs a log since the last planned session that was due.
"""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final, Literal, get_args

from logs.analysis.readiness import ALL_SCOPE, Action, FlagKind, Severity

TodayState = Literal["trained", "due", "missing", "resting", "away", "not_planned"]
Verdict = Literal["stop", "watch", "nothing_noted", "unknown"]
UnknownReason = Literal["silent", "not_evaluated", "nothing_due_yet", "nothing_planned", "away", "not_coached"]
Attention = Literal["stop", "contact", "missed", "watch", "runs_out", "unknown", "none"]
Source = Literal["session_log", "session_rpe", "wellness", "resting_heart_rate", "heart_rate_variability"]

ATTENTION_ORDER: Final[tuple[Attention, ...]] = get_args(Attention)
"""The order of the page, most urgent first. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OverviewPolicy:
    """What a business may change about the morning page."""

    recent_days: int = 14
    """A planned session due longer ago than this says nothing of today. Practice."""

    measured_days: int = 7
    """Days, today among them, within which something counts as measured. Practice."""

    ended_days: int = 7
    """A plan whose last date lies so many days back or more has ended. Practice."""

    runs_out_days: int = 10
    """A program written for so many days or fewer runs out. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueSession:
    """The latest planned session that was due or done; excused and paused ones are none.

    Attributes:
        local_date: The date that it was planned for.
        since: The first day on which doing it was on time, or the day it was done, if earlier.
        attended: Whether the person came at all.
    """

    local_date: date
    since: date
    attended: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingFlag:
    """A flag that stands, as far as it decides the day."""

    kind: FlagKind
    severity: Severity
    action: Action
    scope: str = ALL_SCOPE


@dataclass(frozen=True, slots=True, kw_only=True)
class MorningFacts:
    """What is known of one client this morning.

    Attributes:
        today: The client's local date.
        coached: Whether the client is being coached, so that silence means anything.
        suspended: Whether the client is paused or no longer coached: nothing planned is expected of them.
        away: Whether the client is paused, or an absence covers today, or a pause of all that the client follows.
        open_today: Whether a planned session may be done today and is not overdue.
        last_due: The latest planned session that was due within the policy's recent days; None without one.
        last_session_on: Local date of the latest session log; None when there never was one.
        last_check_in_on: Local date of the latest check-in; None when there never was one.
        sessions_missed: Sessions of this week that were missed on days on which the client was not absent.
        written_until: The last planned date; None when nothing was ever planned.
        evaluated_on: The local date on which the rules were last asked; None if never.
        being_refreshed: Whether something has changed that the rules have not been asked about yet.
        measured: What was logged within the policy's measured days.
        flags: The flags that stand.
    """

    today: date
    coached: bool = True
    suspended: bool = False
    away: bool = False
    open_today: bool = False
    last_due: DueSession | None = None
    last_session_on: date | None = None
    last_check_in_on: date | None = None
    sessions_missed: int = 0
    written_until: date | None = None
    evaluated_on: date | None = None
    being_refreshed: bool = False
    measured: frozenset[Source] = frozenset()
    flags: tuple[StandingFlag, ...] = ()

    @property
    def last_contact_on(self) -> date | None:
        """The local date of the latest log of any kind."""
        return max((day for day in (self.last_session_on, self.last_check_in_on) if day is not None), default=None)

    @property
    def last_contact_days(self) -> int | None:
        """How many days ago that is; a log dated ahead, as after a flight west, is of today."""
        return None if self.last_contact_on is None else max(0, (self.today - self.last_contact_on).days)


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """What the flags make of the day.

    Attributes:
        verdict: `stop`, `watch`, `nothing_noted` or `unknown`.
        reason: Why it is unknown; None where it is known.
        sentence: The verdict in plain words.
        scopes: What a stop or watch is about; `all` is the whole person.
        not_measured: What was not logged lately, so that the verdict does not rest on it.
    """

    verdict: Verdict
    reason: UnknownReason | None = None
    sentence: str
    scopes: tuple[str, ...] = ()
    not_measured: tuple[Source, ...] = ()


_DEFAULT = OverviewPolicy()


def state_today(facts: MorningFacts, policy: OverviewPolicy = _DEFAULT) -> TodayState:
    """Say where a client stands today.

    Args:
        facts: What is known of the client.
        policy: What the business may change.

    Returns:
        `trained` with a session log of today, planned or not; `due` while a planned session may still be done;
        `away` during an absence or pause; `missing` when the last planned session passed and no session was logged
        since; `resting` on a day without a session within a running plan; `not_planned` without one.

    Source: practice.
    """
    # After a flight west a log can lie a day ahead.
    if facts.last_session_on is not None and facts.last_session_on >= facts.today:
        return "trained"
    if facts.open_today and not facts.suspended:
        return "due"
    if _excused(facts):
        return "away" if facts.away else "not_planned"
    if facts.last_due is not None and not _trained_since(facts.last_due, facts.last_session_on):
        return "missing"
    until = facts.written_until
    running = until is not None and until > facts.today - timedelta(days=policy.ended_days)
    return "resting" if running else "not_planned"


def readiness(facts: MorningFacts, policy: OverviewPolicy = _DEFAULT) -> Readiness:
    """Say what a client's flags make of the day.

    Args:
        facts: What is known of the client.
        policy: What the business may change.

    Returns:
        `stop` or `watch` where a flag stands that says so, with what it is about; else `unknown` with the reason, or
        `nothing_noted`, which needs that the rules have been asked today about all that is known, and a log since
        the last planned session that was due. It clears nobody.

    Source: practice.
    """
    not_measured = tuple(source for source in get_args(Source) if source not in facts.measured)
    stops = [flag for flag in facts.flags if flag.severity == "stop"]
    if stops:
        scopes = _scopes(stops)
        return Readiness(verdict="stop", sentence=_stop_words(scopes), scopes=scopes, not_measured=not_measured)
    watched = [flag for flag in facts.flags if flag.severity == "watch"]
    if watched:
        kinds = ", ".join(sorted({flag.kind.replace("_", " ") for flag in watched}))
        return Readiness(
            verdict="watch", sentence=f"To watch: {kinds}.", scopes=_scopes(watched), not_measured=not_measured
        )
    unknown = _unknown(facts, policy)
    if unknown is not None:
        reason, sentence = unknown
        return Readiness(verdict="unknown", reason=reason, sentence=sentence, not_measured=not_measured)
    sentence = f"Nothing was noted in what was logged up to {facts.last_contact_on}; that clears nobody to train."
    return Readiness(verdict="nothing_noted", sentence=sentence, not_measured=not_measured)


def attention(facts: MorningFacts, state: TodayState, verdict: Verdict, policy: OverviewPolicy = _DEFAULT) -> Attention:
    """Say for what a client comes first on the page: the most urgent that holds.

    Args:
        facts: What is known of the client.
        state: Where the client stands today.
        verdict: What the flags make of the day.
        policy: What the business may change.

    Returns:
        One of `ATTENTION_ORDER`. While the client is away, only flags ask for attention; a program that runs out and
        an unknown verdict only do so of those who are coached.

    Source: practice.
    """
    grounds: dict[Attention, bool] = {
        "stop": verdict == "stop",
        "contact": any(flag.action == "contact" for flag in facts.flags),
        "missed": not _excused(facts) and (state == "missing" or facts.sessions_missed > 0),
        "watch": verdict == "watch",
        "runs_out": facts.coached and not _excused(facts) and _runs_out(facts, policy),
        "unknown": facts.coached and not _excused(facts) and verdict == "unknown",
    }
    return next((ground for ground, holds in grounds.items() if holds), "none")


def overview_rank(found: Attention) -> int:
    """Give the place of a client's attention in the order of the page, 0 first."""
    return ATTENTION_ORDER.index(found)


def counts_of(found: Iterable[str], words: Collection[str]) -> dict[str, int]:
    """Count how often each of some words was found, those never found as 0."""
    counted = Counter(found)
    return {word: counted[word] for word in words}


def _excused(facts: MorningFacts) -> bool:
    return facts.away or facts.suspended


def _trained_since(due: DueSession, logged_on: date | None) -> bool:
    return due.attended or (logged_on is not None and logged_on >= due.since)


def _runs_out(facts: MorningFacts, policy: OverviewPolicy) -> bool:
    return facts.written_until is None or facts.written_until <= facts.today + timedelta(days=policy.runs_out_days)


def _scopes(flags: Iterable[StandingFlag]) -> tuple[str, ...]:
    return tuple(sorted({flag.scope for flag in flags}, key=lambda scope: (scope != ALL_SCOPE, scope)))


def _stop_words(scopes: tuple[str, ...]) -> str:
    if ALL_SCOPE in scopes:
        return "Training is to stop until a person has settled it."
    words = " and ".join(" ".join(reversed(scope.split(":")[1:])) for scope in scopes)
    return f"What loads {words} is to stop until a person has settled it; other movements are not stopped by it."


def _unknown(facts: MorningFacts, policy: OverviewPolicy) -> tuple[UnknownReason, str] | None:
    if not facts.coached:
        return "not_coached", "Not being coached at present, so nothing is expected and nothing is known."
    if facts.evaluated_on is None or facts.evaluated_on < facts.today or facts.being_refreshed:
        return "not_evaluated", "The rules have not been asked yet about all that is known today."
    if facts.last_due is None:
        return _without_due(facts, policy)
    contact = facts.last_contact_on
    if _trained_since(facts.last_due, contact) and contact is not None:
        return None
    heard = "nothing was ever logged" if contact is None else f"the last log is of {contact}"
    return "silent", f"A session was planned for {facts.last_due.local_date} and {heard}."


def _without_due(facts: MorningFacts, policy: OverviewPolicy) -> tuple[UnknownReason, str]:
    if facts.away:
        return "away", f"Away; no session was due in the last {policy.recent_days} days."
    if facts.written_until is not None and facts.written_until >= facts.today:
        return "nothing_due_yet", f"No planned session has come due in the last {policy.recent_days} days."
    return "nothing_planned", f"Nothing was planned in the last {policy.recent_days} days and nothing is ahead."
