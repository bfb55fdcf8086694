"""A person's load day by day: known, zero on a known rest day, or unknown with the reason.

What was planned and not logged is unknown, never zero: a mean over days that nobody knows would look like rest.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final, Literal

from logs.analysis.facts import PlannedFact, SessionFact
from logs.analysis.weekly import UNLOGGED_STATES, day_loads, session_minutes
from programs.prescription.session_states import State

UnknownLoad = Literal["planned_not_logged", "minutes_unknown", "rating_unknown"]
DayKind = Literal["trained", "rest", "unknown"]

DAY_KINDS: Final[tuple[DayKind, ...]] = ("trained", "rest", "unknown")
"""What a day can be. Practice."""
UNKNOWN_LOADS: Final[tuple[UnknownLoad, ...]] = ("planned_not_logged", "minutes_unknown", "rating_unknown")
"""Why a day's load is not known. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadDay:
    """One local day's load.

    Attributes:
        local_date: The day.
        kind: `trained`, `rest` or `unknown`.
        load: Rating times minutes of all its sessions, 0 on a rest day; None when unknown.
        sessions: Sessions logged.
        minutes: Their minutes; None when one's are not known.
        unknown: Why the load is not known; empty where it is.
    """

    local_date: date
    kind: DayKind
    load: Decimal | None
    sessions: int
    minutes: Decimal | None
    unknown: tuple[UnknownLoad, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWindow:
    """A planned session with the days on which it may be done; they are equal for one of a fixed day."""

    local_date: date
    window_start: date
    window_end: date
    state: State


def planned_days(planned: Iterable[PlannedWindow], trained: Collection[date]) -> list[PlannedFact]:
    """Give each planned session the day of which its state speaks.

    Args:
        planned: Sessions planned.
        trained: Local dates with a session log.

    Returns:
        One entry a session. Several missed in one floating window each take a day of it, the latest first that has no
        log, since nobody knows what was done on as many of its days; all others stay on their date.

    Source: practice.
    """
    taken = set(trained)
    found = []
    for one in planned:
        day = one.local_date
        if one.state == "missed" and one.window_start < one.window_end:
            width = (one.window_end - one.window_start).days
            window = (one.window_end - timedelta(days=back) for back in range(width + 1))
            day = next((free for free in window if free not in taken), one.local_date)
            taken.add(day)
        found.append(PlannedFact(local_date=day, state=one.state))
    return found


def load_series(days: Sequence[date], sessions: Iterable[SessionFact], planned: Iterable[PlannedFact]) -> list[LoadDay]:
    """Find each day's load and what is unknown of it.

    Args:
        days: Local dates, in order.
        sessions: Sessions performed on them; others are ignored.
        planned: Sessions planned on them; others are ignored.

    Returns:
        One entry per day, in order.

    Raises:
        DayLoadError: A session has an impossible rating or duration.

    Source: practice; session load Foster 1998.
    """
    logged, plans = list(sessions), list(planned)
    loads = day_loads(days, logged, plans)
    performed: defaultdict[date, list[SessionFact]] = defaultdict(list)
    for session in logged:
        performed[session.local_date].append(session)
    open_days = {fact.local_date for fact in plans if fact.state in UNLOGGED_STATES}
    return [
        _load_day(day, load, performed[day], is_open=day in open_days) for day, load in zip(days, loads, strict=True)
    ]


def _load_day(day: date, load: Decimal | None, sessions: list[SessionFact], *, is_open: bool) -> LoadDay:
    minutes = [session_minutes(session) for session in sessions]
    known = [one for one in minutes if one is not None]
    grounds: dict[UnknownLoad, bool] = {
        "planned_not_logged": is_open,
        "minutes_unknown": len(known) < len(minutes),
        "rating_unknown": any(session.session_rpe is None for session in sessions),
    }
    kind: DayKind = "trained" if sessions else "rest"
    return LoadDay(
        local_date=day,
        kind="unknown" if load is None else kind,
        load=load,
        sessions=len(sessions),
        minutes=sum(known, Decimal(0)) if len(known) == len(minutes) else None,
        unknown=tuple(ground for ground, holds in grounds.items() if holds),
    )
