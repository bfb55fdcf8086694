"""Whether tempos are kept better or worse from week to week, and the findings in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from logs.analysis.constants import DAYS_PER_WEEK, PER_CENT, QUOTIENT_PLACES, TREND_WEEKS_AT_LEAST
from logs.analysis.tempo_counts import TempoCounts, WeekTempo
from logs.analysis.time_under_tension import TensionTotal
from logs.analysis.trend import Slope, theil_sen

Direction = Literal["rising", "falling", "undecided", "not_enough_weeks"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoTrend:
    """The weekly share of faulty sets over time.

    Attributes:
        direction: `rising` (more faults), `falling`, `undecided`, or `not_enough_weeks` (under six).
        weeks: Weeks with judged sets, deloads left out.
        sets: Judged sets in them.
        per_week_pct: Theil-Sen slope of the weekly share, in percentage points a week; None under six weeks.
        low_pct: The lower end of its 90 % interval.
        high_pct: The upper end.
        earlier_faulty: Faulty sets in the older half of the weeks.
        earlier_sets: Judged sets in it.
        later_faulty: Faulty sets in the newer half; a middle week belongs to the older one.
        later_sets: Judged sets in it.
    """

    direction: Direction
    weeks: int
    sets: int
    per_week_pct: float | None
    low_pct: float | None
    high_pct: float | None
    earlier_faulty: int
    earlier_sets: int
    later_faulty: int
    later_sets: int

    @property
    def sentence(self) -> str:
        """Say the trend with its counts."""
        halves = (
            f"{self.earlier_faulty} of {self.earlier_sets} sets in the older half of the weeks, "
            f"{self.later_faulty} of {self.later_sets} in the newer"
        )
        if self.direction == "not_enough_weeks":
            return f"{_count(self.weeks, 'week')} with measured sets; under {TREND_WEEKS_AT_LEAST} no trend is told."
        if not self.earlier_faulty and not self.later_faulty:
            return f"Over {self.weeks} weeks no measured set was off the tempo asked."
        if self.direction == "undecided":
            return f"Over {self.weeks} weeks the share of sets off tempo shows no clear direction: {halves}."
        return f"Over {self.weeks} weeks the share of sets off tempo is {self.direction}: {halves}."


def tempo_trend(weeks: Sequence[WeekTempo]) -> TempoTrend:
    """Tell which way the weekly share of faulty sets goes.

    Args:
        weeks: Weeks with judged sets, oldest first; deloads are left out here.

    Returns:
        The direction where the 90 % interval of the slope lies wholly on one side of zero, else `undecided`.

    Source: Theil 1950; Sen 1968 J Am Stat Assoc 63:1379-1389; six weeks at least is practice.
    """
    kept = [week for week in weeks if not week.deload]
    middle = (len(kept) + 1) // 2
    older, newer = kept[:middle], kept[middle:]
    slope = _slope(kept)
    return TempoTrend(
        direction=_direction(slope),
        weeks=len(kept),
        sets=sum(week.sets for week in kept),
        per_week_pct=None if slope is None else _per_week_pct(slope.per_day),
        low_pct=None if slope is None else _per_week_pct(slope.low),
        high_pct=None if slope is None else _per_week_pct(slope.high),
        earlier_faulty=sum(week.faulty_sets for week in older),
        earlier_sets=sum(week.sets for week in older),
        later_faulty=sum(week.faulty_sets for week in newer),
        later_sets=sum(week.sets for week in newer),
    )


def _slope(weeks: Sequence[WeekTempo]) -> Slope | None:
    if len(weeks) < TREND_WEEKS_AT_LEAST:
        return None
    return theil_sen([week.week_start.toordinal() for week in weeks], [float(week.fault_rate or 0) for week in weeks])


def _direction(slope: Slope | None) -> Direction:
    if slope is None:
        return "not_enough_weeks"
    if slope.low is not None and slope.low > 0:
        return "rising"
    return "falling" if slope.high is not None and slope.high < 0 else "undecided"


def _per_week_pct(per_day: float | None) -> float | None:
    return None if per_day is None else round(per_day * DAYS_PER_WEEK * PER_CENT, QUOTIENT_PLACES)


def tempo_sentences(counts: TempoCounts, tension: TensionTotal, trend: TempoTrend) -> tuple[str, ...]:
    """Say what was found, each with its counts.

    Args:
        counts: Sets by what is known of them.
        tension: Time under tension, meant and performed.
        trend: The trend of the weekly shares.

    Source: practice.
    """
    said = [_measured(counts), *_by_duration(counts)]
    if counts.unasked_rest_sets:
        said.append(
            f"{_count(counts.unasked_rest_sets, 'set')} rested at the restful end, where the tempo asks for no pause: "
            "whether continuous work was meant is for the coach to say."
        )
    if counts.sets_not_measured:
        verb = "was" if counts.sets_not_measured == 1 else "were"
        said.append(f"{_count(counts.sets_not_measured, 'set')} with a tempo {verb} not measured.")
    if tension.performed_ratio is not None:
        said.append(
            f"Time under tension: {tension.performed_s:.0f} of {tension.meant_s:.0f} s meant "
            f"({tension.performed_ratio * 100:.0f} %) over {_count(tension.sets, 'set')}; {tension.reached_sets} "
            "reached it."
        )
    if counts.sets_by_phases:
        said.append(trend.sentence)
    return tuple(said)


def _measured(counts: TempoCounts) -> str:
    if not counts.sets_by_phases:
        return "No set was measured by phase, so nothing is said of rushed or lingered phases."
    if not counts.faulty_sets:
        every = "The one measured set" if counts.sets_by_phases == 1 else f"All {counts.sets_by_phases} measured sets"
        return f"{every} kept the tempo asked."
    words = {
        "rushed_eccentric": "the eccentric rushed",
        "rushed_pause": "a working pause rushed",
        "lingered_pause": "the restful pause lingered",
    }
    kinds = ", ".join(f"{words[kind]} in {number}" for kind, number in counts.faults.items() if number)
    verb = "was" if counts.faulty_sets == 1 else "were"
    measured = _count(counts.sets_by_phases, "measured set")
    return f"{counts.faulty_sets} of {measured} {verb} off the tempo asked: {kinds}."


def _by_duration(counts: TempoCounts) -> tuple[str, ...]:
    if not counts.sets_by_duration:
        return ()
    said = (
        f"Of {_count(counts.sets_by_duration, 'set')} only the duration is known: shorter than meant "
        f"{counts.shorter_sets}, longer {counts.longer_sets}; which phase, a duration does not tell."
    )
    return (said,)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" + ("" if number == 1 else "s")
