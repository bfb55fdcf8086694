"""A client's own pace beside the simulated timeline, never in its place.

A session planned at 42 to 48 minutes, of a client whose sessions take 1.22 times what is planned, takes about
(42 + 48) / 2 x 1.22 = 55 minutes. What was performed is found in `logs`, which hands the ratio on.
"""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal

from programs.prescription.constants import PACE_SESSIONS_MIN

_MINUTE = Decimal(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientPace:
    """A client's median of performed to planned minutes; ``ratio`` is None while ``sessions`` are too few."""

    ratio: Decimal | None = None
    sessions: int = 0
    last_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PacedTime:
    """What a planned time is at a client's usual pace.

    ``minutes`` is the middle of the planned low and high times the ratio, to the minute; None where there is no
    usual pace, and ``reason`` says why. ``words`` stand beside the planned time, empty where there is nothing to say.
    """

    minutes: int | None
    ratio: Decimal | None
    sessions: int
    words: str
    reason: str

    @property
    def at_pace(self) -> str:
        """The words without the planned time, for where that stands already; empty where there are none."""
        return self.words.partition("; ")[2]


def paced_time(low_min: Decimal, high_min: Decimal, pace: ClientPace | None) -> PacedTime:
    """Hold a planned time against a client's usual pace.

    Args:
        low_min: the planned time's low reading, in minutes.
        high_min: its high reading, in minutes.
        pace: the client's; None where nothing is known of it.

    Source: practice.
    """
    known = pace or ClientPace()
    if known.ratio is None:
        return PacedTime(minutes=None, ratio=None, sessions=known.sessions, words="", reason=pace_reason(known))
    minutes = minutes_at_pace(middle_min(low_min, high_min), known.ratio)
    return PacedTime(
        minutes=minutes,
        ratio=known.ratio,
        sessions=known.sessions,
        words=f"planned {_range(low_min, high_min)} min; at this client's usual pace about {minutes} min, "
        f"from {known.sessions} sessions",
        reason="",
    )


def middle_min(low_min: Decimal, high_min: Decimal) -> Decimal:
    """Give the middle of a planned time, which is what performed minutes are held against."""
    return (low_min + high_min) / 2


def minutes_at_pace(planned_min: Decimal, ratio: Decimal) -> int:
    """Give what planned minutes take at a pace, to the minute."""
    return int((planned_min * ratio).quantize(_MINUTE, rounding=ROUND_HALF_EVEN))


def pace_reason(pace: ClientPace) -> str:
    """Say why there is no usual pace; empty where there is one."""
    if pace.ratio is not None:
        return ""
    known = "no session is" if not pace.sessions else f"{pace.sessions} {'is' if pace.sessions == 1 else 'are'}"
    return (
        f"A usual pace takes {PACE_SESSIONS_MIN} planned sessions that were done, with minutes that are known; "
        f"{known} so far."
    )


def _range(low_min: Decimal, high_min: Decimal) -> str:
    low, high = round(low_min), round(high_min)
    return str(low) if low == high else f"{low}–{high}"  # noqa: RUF001 -- a range
