"""A client's own pace: the median of performed to planned minutes over the last planned sessions done.

Planned is the middle of the planned low and high times, performed what `session_minutes` knows. Sessions cut short,
extra ones, and those whose minutes are not known are left out: they say nothing of the pace.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from statistics import median

from logs.analysis.facts import SessionFact
from logs.analysis.rounding import round_half_even_6
from logs.analysis.weekly import session_minutes
from programs.prescription.constants import PACE_SESSIONS_MAX, PACE_SESSIONS_MIN
from programs.prescription.session_pace import ClientPace, middle_min


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPerformance:
    """A planned session that was done, with the logs of it.

    Attributes:
        planned_session_id: The planned session, which orders those of one day.
        local_date: The local date for which it was planned.
        planned_low_min: Its planned low time.
        planned_high_min: Its planned high time.
        logs: All session logs of it; their minutes are added up.
    """

    planned_session_id: str
    local_date: date
    planned_low_min: Decimal
    planned_high_min: Decimal
    logs: tuple[SessionFact, ...]


def session_pace(performances: Iterable[PlannedPerformance]) -> ClientPace:
    """Find a client's usual pace.

    Args:
        performances: Planned sessions that were done, in any order; of those only the last 20 count.

    Returns:
        The median of performed to planned minutes, rounded half-even to six places, with the sessions that it is of
        and the last local date among them; without a ratio while they are under 6.

    Source: practice.
    """
    latest = sorted(performances, key=lambda one: (one.local_date, one.planned_session_id))[-PACE_SESSIONS_MAX:]
    found = [(one.local_date, ratio) for one in latest if (ratio := _ratio(one)) is not None]
    if not found:
        return ClientPace()
    ratios = [ratio for _, ratio in found]
    known = len(ratios) >= PACE_SESSIONS_MIN
    return ClientPace(
        ratio=round_half_even_6(median(ratios)) if known else None,
        sessions=len(ratios),
        last_on=max(day for day, _ in found),
    )


def performed_minutes(logs: Sequence[SessionFact]) -> Decimal | None:
    """Add up the minutes of a planned session's logs.

    Args:
        logs: All session logs of it.

    Returns:
        The sum; None unless the minutes of each are known.

    Source: practice.
    """
    each = [session_minutes(log) for log in logs]
    known = [minutes for minutes in each if minutes]
    return sum(known, Decimal(0)) if known and len(known) == len(each) else None


def _ratio(one: PlannedPerformance) -> Fraction | None:
    planned_min = middle_min(one.planned_low_min, one.planned_high_min)
    minutes = performed_minutes(one.logs)
    return None if minutes is None or planned_min <= 0 else Fraction(minutes) / Fraction(planned_min)
