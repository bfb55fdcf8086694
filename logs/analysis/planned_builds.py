"""Weeks in which the program itself asks for more than in the weeks before: no jump of the person's own making."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median

from logs.analysis.load_jumps import LoadJumpPolicy


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWeek:
    """A week as planned: its work sets (excused sessions left out), and whether it is a deload."""

    week_start: date
    work_sets: int
    deload: bool = False


_DEFAULT = LoadJumpPolicy()


def planned_builds(weeks: Iterable[PlannedWeek], policy: LoadJumpPolicy = _DEFAULT) -> frozenset[date]:
    """Find the weeks that were planned as a build.

    Args:
        weeks: A client's planned weeks, in any order.
        policy: What the business may change about jumps: the weeks looked back on, and the least rise.

    Returns:
        The first days of the weeks that ask for more work sets than the median of the last planned non-deload weeks
        before them by the least rise or more; a week with nothing before it is none.

    Source: practice.
    """
    builds: set[date] = set()
    before: list[Decimal] = []
    for week in sorted(weeks, key=lambda one: one.week_start):
        recent = before[-policy.baseline_weeks :]
        if recent and week.work_sets >= (1 + policy.least_rise_ratio) * median(recent):
            builds.add(week.week_start)
        if week.work_sets and not week.deload:
            before.append(Decimal(week.work_sets))
    return frozenset(builds)
