"""A person's own baseline, and how far an entry lies from it in standard deviations.

A baseline is made of the person's earlier entries alone; the day that is judged is never part of its own baseline.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import fmean, median, stdev
from typing import Final, Literal, NamedTuple

from coaching.measures.constants import (
    BASELINE_AT_LEAST,
    BASELINE_DAYS,
    BASELINE_FORMS,
    BASELINE_FORMS_AT_LEAST,
    CADENCE_ENTRIES,
    DAILY_GAP_DAYS,
    SCALE_SD_FLOOR,
    SHOWN_PLACES,
)

Cadence = Literal["daily", "weekly"]
CADENCES: Final[tuple[Cadence, ...]] = ("daily", "weekly")
"""How often somebody answers. Practice."""

NoScore = Literal["known", "no_entry", "too_few_entries", "zero_variance", "switched_off_for_care"]
_TWO: Final = 2


class BaselineError(ValueError):
    """Entries that are no series: two values of one day."""

    code = "invalid_baseline"


class DatedValue(NamedTuple):
    """A value of a local date."""

    local_date: date
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BaselinePolicy:
    """What a business may change about baselines."""

    look_back_days: int = BASELINE_DAYS
    """Days before a daily entry. Practice."""

    days_at_least: int = BASELINE_AT_LEAST
    """Fewest daily entries. Practice."""

    look_back_forms: int = BASELINE_FORMS
    """Weekly entries before one. Practice."""

    forms_at_least: int = BASELINE_FORMS_AT_LEAST
    """Fewest weekly entries. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Baseline:
    """Earlier entries of one person, as mean and standard deviation.

    Attributes:
        n: How many entries there are.
        needed: How many it takes.
        first: The earliest entry's date; None without one.
        last: The latest entry's date.
        mean: Their mean; None with fewer than needed.
        sd: Their sample standard deviation; None with fewer than needed.
    """

    n: int
    needed: int
    first: date | None = None
    last: date | None = None
    mean: float | None = None
    sd: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How far an entry lies from its baseline.

    Attributes:
        value: The entry; None when there is none.
        local_date: Its date.
        baseline: What it is compared with.
        z: The distance in standard deviations, positive above the mean; None with a reason.
        sd_used: The standard deviation divided by: the baseline's, or the floor where that is larger.
        reason: `known`, or why there is no score.
    """

    value: float | None
    local_date: date | None
    baseline: Baseline
    z: float | None
    sd_used: float | None
    reason: NoScore


_DEFAULT = BaselinePolicy()


def cadence_of(days: Iterable[date]) -> Cadence:
    """Read from the gaps between a person's entries whether they answer daily or weekly.

    Args:
        days: Local dates with an entry, in any order.

    Returns:
        `weekly` where the median gap of the last eight is over three days, else `daily`; `daily` too where there is
        no gap yet, since it asks for more entries before anything is said.

    Source: practice.
    """
    latest = sorted(set(days))[-CADENCE_ENTRIES:]
    gaps = [(later - earlier).days for earlier, later in pairwise(latest)]
    return "weekly" if gaps and median(gaps) > DAILY_GAP_DAYS else "daily"


def baseline_before(
    entries: Sequence[DatedValue], day: date, cadence: Cadence = "daily", policy: BaselinePolicy = _DEFAULT
) -> Baseline:
    """Summarise the entries before a day.

    Args:
        entries: One value per local date, in any order; later ones are left out.
        day: The first day that is not part of it.
        cadence: `daily` takes the 28 days before (14 entries or more), `weekly` the last 8 entries (6 or more).
        policy: What a business may change.

    Returns:
        The baseline; mean and SD None with too few entries.

    Raises:
        BaselineError: Two values of one day.

    Source: practice.
    """
    ordered = sorted(entries)
    if any(earlier.local_date == later.local_date for earlier, later in pairwise(ordered)):
        raise BaselineError("Two values stand on one day; make one of them first.")
    if cadence == "daily":
        since = day - timedelta(days=policy.look_back_days)
        taken = [entry for entry in ordered if since <= entry.local_date < day]
    else:
        taken = [entry for entry in ordered if entry.local_date < day][-policy.look_back_forms :]
    return _summary(taken, policy.days_at_least if cadence == "daily" else policy.forms_at_least)


def score(
    entry: DatedValue | None,
    entries: Sequence[DatedValue],
    cadence: Cadence = "daily",
    *,
    sd_floor: float = SCALE_SD_FLOOR,
    policy: BaselinePolicy = _DEFAULT,
) -> Score:
    """Compare an entry with the person's earlier ones.

    Args:
        entry: The entry judged; None where there is none.
        entries: The person's entries, one a day; those from the entry's day on are left out of the baseline.
        cadence: As for `baseline_before`.
        sd_floor: The least standard deviation divided by, in the entry's own unit; 0 for none.
        policy: What a business may change.

    Returns:
        z = (entry - mean) / the larger of SD and floor; no z with a reason.

    Raises:
        BaselineError: Two values of one day.

    Source: standard score; sample SD, floor and windows are practice.
    """
    if entry is None:
        return Score(value=None, local_date=None, baseline=_summary([], 0), z=None, sd_used=None, reason="no_entry")
    earlier = baseline_before(entries, entry.local_date, cadence, policy)
    z, sd_used, reason = standard_score(entry.value, earlier, sd_floor)
    return Score(
        value=shown(entry.value), local_date=entry.local_date, baseline=earlier, z=z, sd_used=sd_used, reason=reason
    )


def standard_score(
    value: float, baseline: Baseline, sd_floor: float = 0.0
) -> tuple[float | None, float | None, NoScore]:
    """Divide a value's distance from a baseline by its standard deviation.

    Args:
        value: The value.
        baseline: The baseline.
        sd_floor: The least standard deviation divided by.

    Returns:
        The score and the standard deviation used, each None with the reason that comes third.

    Source: standard score; the floor is practice.
    """
    if baseline.mean is None or baseline.sd is None:
        return None, None, "too_few_entries"
    sd_used = max(baseline.sd, sd_floor)
    if sd_used == 0:
        return None, None, "zero_variance"
    return shown((value - baseline.mean) / sd_used), sd_used, "known"


def shown(value: float) -> float:
    """Round a figure as it goes out, half to even, to six places.

    Source: practice.
    """
    return round(value, SHOWN_PLACES)


def daily_means(values: Iterable[DatedValue]) -> list[DatedValue]:
    """Make one value of each day.

    Args:
        values: Values of local dates; several of one day are averaged, so that the order of arrival decides nothing.

    Returns:
        One value per date, oldest first.

    Source: practice.
    """
    by_day: dict[date, list[float]] = {}
    for entry in values:
        by_day.setdefault(entry.local_date, []).append(entry.value)
    return [DatedValue(day, fmean(found)) for day, found in sorted(by_day.items())]


def _summary(taken: Sequence[DatedValue], needed: int) -> Baseline:
    if not taken or len(taken) < max(needed, _TWO):
        first, last = (taken[0].local_date, taken[-1].local_date) if taken else (None, None)
        return Baseline(n=len(taken), needed=needed, first=first, last=last)
    values = [entry.value for entry in taken]
    return Baseline(
        n=len(taken),
        needed=needed,
        first=taken[0].local_date,
        last=taken[-1].local_date,
        mean=shown(fmean(values)),
        sd=shown(stdev(values)),
    )
