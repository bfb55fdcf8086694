"""Two training blocks of one person side by side, from their weekly figures: a description, which names no cause."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from statistics import median

from logs.analysis.rounding import round_half_even_6


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockWeek:
    """One week of a block.

    Attributes:
        week_start: Its first day.
        deload: A planned deload: left out of every mean.
        away: The client was ill or away on any of its days: left out too.
        figures: The week's figures by name; None where the week has none.
        lift_values: The week's value of each lift line, in kilograms.
    """

    week_start: date
    deload: bool = False
    away: bool = False
    figures: Mapping[str, Decimal | None] = field(default_factory=dict)
    lift_values: Mapping[str, Decimal] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockSpan:
    """A block's weeks.

    Attributes:
        first: First day of its first week.
        last: Last day of its last week.
        weeks: Weeks of which anything is known and that are over.
        unfinished_weeks: Weeks not over yet, which are left out.
    """

    first: date
    last: date
    weeks: tuple[BlockWeek, ...] = ()
    unfinished_weeks: int = 0

    @property
    def deload_weeks(self) -> int:
        """How many of the weeks are deloads, and the client not away."""
        return sum(week.deload and not week.away for week in self.weeks)

    @property
    def away_weeks(self) -> int:
        """How many of the weeks the client was ill or away in."""
        return sum(week.away for week in self.weeks)

    @property
    def compared_weeks(self) -> tuple[BlockWeek, ...]:
        """The weeks that enter the means."""
        return tuple(week for week in self.weeks if not week.deload and not week.away)


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureComparison:
    """One figure in both blocks.

    Attributes:
        name: Which.
        value: The first block's: the mean of its weeks, or the median for a lift line.
        weeks: How many weeks it is of.
        with_value: The second block's.
        with_weeks: How many weeks it is of.
        difference: First less second; None where either is missing.
        change_ratio: First over second, less one, to six places; None where that has no meaning.
        reason: `known`, or which is missing.
    """

    name: str
    value: Decimal | None
    weeks: int
    with_value: Decimal | None
    with_weeks: int
    difference: Decimal | None
    change_ratio: Decimal | None
    reason: str


def compare_figures(first: BlockSpan, second: BlockSpan, names: Sequence[str]) -> tuple[FigureComparison, ...]:
    """Compare the mean week of two blocks, figure by figure.

    Args:
        first: The one block.
        second: The block it is held against.
        names: The figures, in the order wanted.

    Returns:
        Means over the weeks that have the figure, deloads and weeks away left out, to six places, and differences.

    Source: practice.
    """
    return tuple(_compared(name, *_mean(_of(first, name)), *_mean(_of(second, name))) for name in names)


def compare_lifts(first: BlockSpan, second: BlockSpan) -> tuple[FigureComparison, ...]:
    """Compare the lift lines of two blocks by the median of their weeks.

    Args:
        first: The one block.
        second: The block it is held against.

    Returns:
        One for each line that either block has, in the order of the alphabet.

    Source: practice.
    """
    lines = sorted({line for span in (first, second) for week in span.compared_weeks for line in week.lift_values})
    return tuple(_compared(line, *_median(_lift(first, line)), *_median(_lift(second, line))) for line in lines)


def _of(span: BlockSpan, name: str) -> list[Decimal]:
    return [value for week in span.compared_weeks if (value := week.figures.get(name)) is not None]


def _lift(span: BlockSpan, line: str) -> list[Decimal]:
    return [week.lift_values[line] for week in span.compared_weeks if line in week.lift_values]


def _mean(values: Iterable[Decimal]) -> tuple[Decimal | None, int]:
    known = [Fraction(value) for value in values]
    return (round_half_even_6(sum(known, Fraction(0)) / len(known)) if known else None), len(known)


def _median(values: Iterable[Decimal]) -> tuple[Decimal | None, int]:
    known = [Fraction(value) for value in values]
    return (round_half_even_6(Fraction(median(known))) if known else None), len(known)


def _compared(
    name: str, value: Decimal | None, weeks: int, with_value: Decimal | None, with_weeks: int
) -> FigureComparison:
    difference = change = None
    if value is not None and with_value is not None:
        difference = value - with_value
        change = round_half_even_6(Fraction(value) / Fraction(with_value) - 1) if with_value > 0 else None
    missing = {(True, True): "missing_in_both", (True, False): "missing_in_first", (False, True): "missing_in_second"}
    return FigureComparison(
        name=name,
        value=value,
        weeks=weeks,
        with_value=with_value,
        with_weeks=with_weeks,
        difference=difference,
        change_ratio=change,
        reason=missing.get((value is None, with_value is None), "known"),
    )
