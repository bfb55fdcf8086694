"""Rules about how somebody says they are: low wellness, and a raised resting heart rate.

One bad day or one item alone opens nothing, since bounds in standard deviations are custom and scales are noisy.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from operator import attrgetter
from typing import Final

from coaching.measures.baselines import Cadence, DatedValue, cadence_of, score
from coaching.measures.local_calendar import DateSpan
from coaching.measures.references import BASELINE, HOOPER, RESTING_HR
from coaching.measures.resting_heart_rate import RestingHeartRatePolicy, resting_heart_rate
from coaching.screening.care_groups import switched_off
from logs.analysis.check_in_scales import ITEMS, CheckInEntry, values_by_day
from logs.analysis.readiness import RuleState, evidence_token

WELLNESS_CAUTION: Final = "This is what the person says, against what they said before; ask them before concluding."
RESTING_HR_CAUTION: Final = (
    "A pulse rises for many reasons, a poor night and the measuring itself among them. This is not a diagnosis."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WellnessPolicy:
    """What a business may change about low wellness."""

    worse_by_sd: float = 1.5
    """Own standard deviations on the worse side that count. Practice."""

    together: int = 2
    """So many items at once, or days running of one item. Practice."""

    bad_score: int = 6
    """An answer this high twice running counts whatever is usual. Practice."""

    daily_fresh_days: int = 3
    """A daily answer says something of so many days, its own among them. Practice."""

    weekly_fresh_days: int = 10
    """A weekly answer likewise. Practice."""

    daily_running_days: int = 7
    """Daily answers so many days apart at most are running, one after the other. Practice."""

    weekly_running_days: int = 21
    """Weekly answers likewise: so two forms may be missed. Practice."""


_WELLNESS = WellnessPolicy()
_RESTING = RestingHeartRatePolicy()


@dataclass(frozen=True, slots=True)
class _Answer:
    """An item's latest answer, and the one running before it; None where that lies too long before."""

    item: str
    latest: DatedValue
    before: DatedValue | None
    worse: bool
    worse_before: bool


def low_wellness_state(
    entries: Sequence[CheckInEntry], today: date, away: Sequence[DateSpan] = (), policy: WellnessPolicy = _WELLNESS
) -> RuleState:
    """Say whether somebody is worse than is usual for them.

    Args:
        entries: Check-ins of the last weeks, in any order.
        today: The person's local date.
        away: Absences, whose entries are left out.
        policy: What a business may change.

    Returns:
        A state that holds where two items at once, or one item twice running, lie 1.5 of the person's own standard
        deviations on the worse side of their baseline; or where an item is 6 or more twice running. Old answers say
        nothing of today, and one long before is not running with the latest.

    Raises:
        BaselineError: Impossible values.

    Source: practice; the scales Hooper and Mackinnon 1995.
    """
    known = [one for one in entries if one.local_date <= today and not any(one.local_date in span for span in away)]
    cadence = _cadence(known)
    fresh_days = policy.daily_fresh_days if cadence == "daily" else policy.weekly_fresh_days
    found = [answer for item in ITEMS if (answer := _answer(item, known, cadence, policy)) is not None]
    fresh = [one for one in found if one.latest.local_date > today - timedelta(days=fresh_days)]
    grounds = _grounds(fresh, policy)
    rule = (
        f"{policy.worse_by_sd:g} own standard deviations worse on {policy.together} items or {policy.together} answers "
        f"running; or {policy.bad_score} or more twice running."
    )
    if not grounds:
        sentence = "Nothing lately is worse than usual." if fresh else "Nobody answered lately."
        return RuleState(kind="low_wellness", holds=False, severity="note", sentence=sentence, rule=rule)
    told = [one for one in fresh if one.item in grounds]
    return RuleState(
        kind="low_wellness",
        holds=True,
        severity="watch",
        action="note",
        sentence=f"Worse than usual: {', '.join(_words(one) for one in told)}.",
        figures={"items": [one.item for one in told], "cadence": cadence, "answers": [_words(one) for one in told]},
        rule=rule,
        source=f"{HOOPER}; {BASELINE}",
        caution=WELLNESS_CAUTION,
        evidence=tuple(evidence_token(f"{one.item}:{one.latest.local_date}:{one.latest.value:g}") for one in told),
    )


def resting_heart_rate_state(
    entries: Sequence[CheckInEntry],
    today: date,
    away: Sequence[DateSpan] = (),
    care_groups: Collection[str] = (),
    policy: RestingHeartRatePolicy = _RESTING,
) -> RuleState:
    """Say whether somebody's resting heart rate is raised.

    Args:
        entries: Check-ins of the last weeks, in any order.
        today: The person's local date.
        away: Absences, whose entries are left out.
        care_groups: The person's; some switch this off.
        policy: What a business may change.

    Returns:
        A state that holds where the mean of the last three days lies over the person's own by more than 5 b/min and
        more than one of their own standard deviations.

    Raises:
        BaselineError: Impossible values.

    Source: practice.
    """
    rule = f"Three-day mean over {policy.rise_bpm:g} b/min and over {policy.rise_sd:g} own SD above baseline."
    off = switched_off("heart_rate", care_groups)
    known = [one for one in entries if not any(one.local_date in span for span in away)]
    values = [one for one in values_by_day(known, attrgetter("resting_hr_bpm")) if one.local_date <= today]
    found = resting_heart_rate(values, today, policy)
    if off or not found.raised:
        sentence = off or "The resting heart rate is not known to be raised."
        return RuleState(kind="resting_heart_rate_up", holds=False, severity="note", sentence=sentence, rule=rule)
    mean, baseline = found.mean_bpm or 0.0, found.baseline
    return RuleState(
        kind="resting_heart_rate_up",
        holds=True,
        severity="watch",
        action="note",
        sentence=f"Resting heart rate {mean:.0f} b/min over three days, usually {baseline.mean or 0.0:.0f}.",
        figures={
            "mean_bpm": f"{mean:.1f}",
            "baseline_bpm": f"{baseline.mean or 0.0:.1f}",
            "baseline_sd_bpm": f"{baseline.sd or 0.0:.1f}",
            "baseline_n": baseline.n,
        },
        rule=rule,
        source=RESTING_HR,
        caution=RESTING_HR_CAUTION,
        evidence=(evidence_token(f"resting:{values[-1].local_date}:{values[-1].value:g}"),),
    )


def _cadence(entries: Sequence[CheckInEntry]) -> Cadence:
    answered = [one for one in entries if any(getattr(one, item) is not None for item in ITEMS)]
    by_form = max(answered, key=attrgetter("local_date")).form_cadence if answered else None
    return by_form or cadence_of(one.local_date for one in answered)


def _answer(item: str, entries: Sequence[CheckInEntry], cadence: Cadence, policy: WellnessPolicy) -> _Answer | None:
    values = values_by_day(entries, attrgetter(item))
    if not values:
        return None
    latest = values[-1]
    running_days = policy.daily_running_days if cadence == "daily" else policy.weekly_running_days
    since = latest.local_date - timedelta(days=running_days)
    before = next((one for one in reversed(values[:-1]) if one.local_date >= since), None)
    worse = _is_worse(latest, values, cadence, policy)
    worse_before = before is not None and worse and _is_worse(before, values, cadence, policy)
    return _Answer(item, latest, before, worse, worse_before)


def _is_worse(entry: DatedValue, values: Sequence[DatedValue], cadence: Cadence, policy: WellnessPolicy) -> bool:
    z = score(entry, values, cadence).z
    return z is not None and z >= policy.worse_by_sd


def _grounds(fresh: Sequence[_Answer], policy: WellnessPolicy) -> set[str]:
    """Return the items that the rule holds of."""
    last = max((one.latest.local_date for one in fresh), default=None)
    at_once = {one.item for one in fresh if one.worse and one.latest.local_date == last}
    running = {one.item for one in fresh if one.worse and one.worse_before}
    bad = {
        one.item
        for one in fresh
        if one.before is not None and min(one.latest.value, one.before.value) >= policy.bad_score
    }
    return running | bad | (at_once if len(at_once) >= policy.together else set())


def _words(answer: _Answer) -> str:
    return f"{answer.item} {answer.latest.value:g} of 7 on {answer.latest.local_date}"
