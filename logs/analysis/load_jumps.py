"""A week whose load jumps above the person's own recent weeks.

A description of the person's own history, never a prediction of injury.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median
from typing import Final

from logs.analysis.constants import DAYS_PER_WEEK, MAD_TO_SD_RATIO
from logs.analysis.readiness import RuleState

CAUTION: Final = (
    "This compares a week with the person's own recent weeks. It predicts no injury; ask how the week felt before "
    "changing anything."
)
"""Said with every load jump. Practice."""

RULE_SOURCE: Final = "common practice, no source; the scaled median absolute deviation is textbook statistics"
"""Where the rule comes from. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekLoad:
    """A client's week, for the load rule.

    Attributes:
        week_start: First day of the business week.
        session_load: Sum of the known session loads, arbitrary units.
        days_unknown: Days whose load is not known: such a week is no part of a baseline.
        over: Whether the week is over.
        deload: A deload week.
        planned_build: The program plans this rise.
        absent: The client was absent or paused on a day of it.
    """

    week_start: date
    session_load: Decimal
    days_unknown: int = 0
    over: bool = True
    deload: bool = False
    planned_build: bool = False
    absent: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadJumpPolicy:
    """What a business may change about the rule."""

    baseline_weeks: int = 6
    """Complete weeks before it that a week is compared with. Practice."""

    least_weeks: int = 4
    """Fewest complete weeks of a comparison. Practice."""

    look_back_weeks: int = 12
    """How far back complete weeks are looked for. Practice."""

    mad_ratio: Decimal = Decimal(3)
    """Scaled median absolute deviations above the median that make a jump. Practice."""

    least_rise_ratio: Decimal = Decimal("0.30")
    """The least rise above the median that makes a jump. Practice."""


_DEFAULT = LoadJumpPolicy()


def load_jump_state(weeks: Iterable[WeekLoad], policy: LoadJumpPolicy = _DEFAULT) -> RuleState:
    """Say whether the last week that is over jumped in load.

    Args:
        weeks: The client's weeks, in any order.
        policy: What the business may change.

    Returns:
        The state, scope `all`. The week is compared with the latest weeks before it that are complete: over, every
        day known, no deload, nobody absent. With unknown days of its own its known load is a lower bound, which is
        enough to show a jump. It does not hold where the rise was planned, in a deload or absent week, or with too
        few complete weeks; the sentence then says so.

    Source: practice.
    """
    rule = (
        f"A week above the median of the last {policy.baseline_weeks} complete non-deload weeks (at least "
        f"{policy.least_weeks}) by more than {policy.mad_ratio} scaled median absolute deviations and more than "
        f"{(policy.least_rise_ratio * 100).normalize():f} %, and not planned so."
    )
    past = sorted((week for week in weeks if week.over), key=lambda week: week.week_start)
    if not past:
        return _quiet("No week is over yet.", rule)
    last = past[-1]
    if last.absent or last.deload or last.planned_build:
        return _quiet("The last week was absent, a deload, or a planned build: it is not compared.", rule)
    baseline = _baseline(past[:-1], last.week_start, policy)
    if len(baseline) < policy.least_weeks:
        return _quiet(f"{len(baseline)} complete weeks to compare with; {policy.least_weeks} are needed.", rule)
    return _compared(last, baseline, rule, policy)


def _baseline(past: Sequence[WeekLoad], before: date, policy: LoadJumpPolicy) -> list[Decimal]:
    complete = [
        week.session_load
        for week in past
        if not (week.deload or week.absent or week.days_unknown)
        and (before - week.week_start).days <= policy.look_back_weeks * DAYS_PER_WEEK
    ]
    return complete[-policy.baseline_weeks :]


def _compared(last: WeekLoad, baseline: Sequence[Decimal], rule: str, policy: LoadJumpPolicy) -> RuleState:
    middle = median(baseline)
    if middle == 0:
        return _quiet("The weeks to compare with hold no load.", rule)
    mad = median(abs(load - middle) for load in baseline)
    bound = middle + max(policy.mad_ratio * MAD_TO_SD_RATIO * mad, policy.least_rise_ratio * middle)
    at_least = "at least " if last.days_unknown else ""
    rise_pct = round((last.session_load / middle - 1) * 100)
    return RuleState(
        kind="load_jump",
        holds=last.session_load > bound,
        action="no_increase",
        sentence=(
            f"The week from {last.week_start} came to {at_least}{last.session_load:.0f} units of session load, "
            f"{rise_pct:+d} % on the median of {len(baseline)} weeks ({middle:.0f}); the bound is {bound:.0f}."
        ),
        figures={
            "week_start": last.week_start.isoformat(),
            "session_load": str(last.session_load),
            "median": str(middle),
            "median_absolute_deviation": str(mad),
            "bound": str(bound),
            "weeks": len(baseline),
            "days_unknown": last.days_unknown,
        },
        rule=rule,
        source=RULE_SOURCE,
        caution=CAUTION,
        evidence=(f"week:{last.week_start.isoformat()}",),
    )


def _quiet(sentence: str, rule: str) -> RuleState:
    return RuleState(kind="load_jump", holds=False, sentence=sentence, rule=rule, source=RULE_SOURCE, caution=CAUTION)
