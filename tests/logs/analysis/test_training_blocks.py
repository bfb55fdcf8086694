"""Two training blocks side by side."""

from datetime import date, timedelta
from decimal import Decimal

from logs.analysis.training_blocks import BlockSpan, BlockWeek, compare_figures, compare_lifts

MONDAY = date(2031, 1, 6)
SQUAT = "back-squat/both/standard"


def span(*weeks, lifts=(), deload=()):
    made = [
        BlockWeek(
            week_start=MONDAY + timedelta(weeks=number),
            deload=number in deload,
            figures={"hard_sets": None if sets is None else Decimal(sets)},
            lift_values={SQUAT: Decimal(lifts[number])} if number < len(lifts) else {},
        )
        for number, sets in enumerate(weeks)
    ]
    return BlockSpan(first=MONDAY, last=MONDAY + timedelta(days=7 * len(weeks) - 1), weeks=tuple(made))


def test_the_mean_week_is_compared_without_deloads():
    (found,) = compare_figures(span(12, 14, 5, deload=(2,)), span(10, None, 10), ("hard_sets",))
    assert (found.value, found.weeks, found.with_value, found.with_weeks) == (13, 2, 10, 2)
    assert (found.difference, found.change_ratio, found.reason) == (3, Decimal("0.3"), "known")
    assert span(12, 14, 5, deload=(2,)).deload_weeks == 1


def test_a_missing_figure_is_said_on_its_side():
    reasons = [
        compare_figures(first, second, ("hard_sets",))[0].reason
        for first, second in [(span(None), span(3)), (span(3), span(None)), (span(), span())]
    ]
    assert reasons == ["missing_in_first", "missing_in_second", "missing_in_both"]
    (from_nothing,) = compare_figures(span(3), span(0), ("hard_sets",))
    assert (from_nothing.difference, from_nothing.change_ratio) == (3, None)


def test_lift_lines_are_compared_by_their_medians():
    (found,) = compare_lifts(span(1, 1, 1, lifts=("100", "130", "104")), span(1, lifts=("100",)))
    assert (found.name, found.value, found.weeks, found.with_value) == (SQUAT, 104, 3, 100)
    assert found.change_ratio == Decimal("0.04")
    (alone,) = compare_lifts(span(1, lifts=("100",)), span(1))
    assert (alone.reason, alone.difference) == ("missing_in_second", None)
