"""Findings about whole weeks: sets of a muscle, pushes and pulls, knee- and hip-dominant sets, outside their range.

The same figure in several weeks is said once, at the first. Only muscles that a week trains directly are told as low,
and of those only the ones that trials measured: a neck or a grip is nobody's shortfall.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from programs.prescription.constants import BALANCE_MAX_RATIO, WEEK_SETS_ABOVE_STUDIED, WEEK_SETS_LOW
from programs.prescription.findings import Finding
from programs.prescription.version_diff import weeks_words
from programs.prescription.volume import SetBalance, Volume
from programs.prescription.week_ranges import BALANCE_SOURCE, WeekReading

_JUDGED_LOW: Final = frozenset(
    {
        "quadriceps",
        "hamstrings",
        "glutes",
        "calves",
        "chest",
        "lats",
        "upper_back",
        "front_delts",
        "side_delts",
        "rear_delts",
        "biceps",
        "triceps",
    }
)
"""Muscles whose weekly sets may be told as low: the large ones, and those of the arms. Practice."""

_LOW_SOURCE: Final = "Schoenfeld et al. 2017 J Sports Sci 35:1073-1082."
"""Ground of the low bound. Source: as named."""

_HIGH_SOURCE: Final = "Baz-Valle et al. 2022 (PMC8884877)."
"""Ground of the high bound. Source: as named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadWeek:
    """A week with what was read of it, and its place in the document."""

    week_number: int
    pointer: str
    volume: Volume
    readings: tuple[WeekReading, ...]


def week_findings(weeks: Iterable[ReadWeek]) -> tuple[Finding, ...]:
    """Find what lies outside its range, each thing once for all the weeks in which it has the same figure."""
    said: dict[tuple[str, str], list[ReadWeek]] = {}
    first: dict[tuple[str, str], Finding] = {}
    for week in weeks:
        for subject, finding in _findings(week):
            key = (finding.code, subject)
            first.setdefault(key, finding)
            said.setdefault(key, []).append(week)
    return tuple(_told(finding, [week.week_number for week in said[key]]) for key, finding in first.items())


def _told(finding: Finding, weeks: list[int]) -> Finding:
    return replace(finding, message=f"{weeks_words(weeks).capitalize()}: {finding.message}")


def _findings(week: ReadWeek) -> Iterator[tuple[str, Finding]]:
    direct = {muscle.muscle: muscle.direct for muscle in week.volume.muscles}
    for reading in week.readings:
        if reading.verdict not in ("under", "over"):
            continue
        if reading.measure == "weekly_sets" and reading.muscle is not None and reading.figure is not None:
            low = reading.verdict == "under"
            if not low or (reading.muscle in _JUDGED_LOW and direct[reading.muscle]):
                yield f"{reading.muscle} {reading.figure}", _sets(week, reading.muscle, reading.figure, low=low)
        elif reading.measure in ("push_pull", "knee_hip"):
            sides = _sides(week.volume.balance, reading)
            yield f"{sides}", _imbalance(week, reading, sides)


def _sets(week: ReadWeek, muscle: str, figure: Decimal, *, low: bool) -> Finding:
    name = muscle.replace("_", " ")
    if low:
        return Finding(
            severity="note",
            code="weekly_sets_low",
            message=f"the {name} have {figure.normalize():f} hard sets by the fractional count, under {WEEK_SETS_LOW}.",
            pointer=week.pointer,
            rule=f"Muscles grew less where they had under {WEEK_SETS_LOW} sets a week.",
            source=_LOW_SOURCE,
            suggestion="Add a set or a second day for them where they are to grow; leave it where they are to keep.",
            figure=figure,
            bound=WEEK_SETS_LOW,
            unit="sets",
        )
    return Finding(
        severity="note",
        code="weekly_sets_high",
        message=(
            f"the {name} have {figure.normalize():f} hard sets by the fractional count, over {WEEK_SETS_ABOVE_STUDIED}."
        ),
        pointer=week.pointer,
        rule=f"Beyond {WEEK_SETS_ABOVE_STUDIED} sets a week only one muscle gained more.",
        source=_HIGH_SOURCE,
        suggestion="Take sets from what trains them least well, or spread them over more days.",
        figure=figure,
        bound=WEEK_SETS_ABOVE_STUDIED,
        unit="sets",
    )


def _sides(balance: SetBalance, reading: WeekReading) -> tuple[tuple[int, str], tuple[int, str]]:
    """Give the two sides of a balance, the greater first."""
    if reading.measure == "push_pull":
        sides = (balance.push_sets, "pushing"), (balance.pull_sets, "pulling")
    else:
        sides = (balance.knee_dominant_sets, "knee-dominant"), (balance.hip_dominant_sets, "hip-dominant")
    return sides if reading.verdict == "over" else (sides[1], sides[0])


def _imbalance(week: ReadWeek, reading: WeekReading, sides: tuple[tuple[int, str], tuple[int, str]]) -> Finding:
    (more, more_name), (fewer, fewer_name) = sides
    return Finding(
        severity="note",
        code=f"{reading.measure}_balance",
        message=f"{more} {more_name} sets stand against {fewer} {fewer_name} ones.",
        pointer=week.pointer,
        rule=f"Neither side of a balance has more than {BALANCE_MAX_RATIO} times the sets of the other.",
        source=BALANCE_SOURCE,
        suggestion=f"Trade {more_name} sets for {fewer_name} ones, unless the block is meant so.",
        figure=Decimal(more),
        bound=fewer * BALANCE_MAX_RATIO,
        unit="sets",
    )
