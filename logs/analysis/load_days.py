"""A person's load day by day: known, zero on a known rest day, or unknown with the reason.

What was planned and not logged is unknown, never zero: a mean over days that nobody knows would look like rest.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from logs.analysis.facts import PlannedFact, SessionFact
from logs.analysis.weekly import UNLOGGED_STATES, day_loads, session_minutes

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
