from decimal import Decimal

import pytest

from logs.analysis.session_load import DayLoadError, ewma, monotony, session_load, strain


@pytest.mark.parametrize("figure", [monotony, strain])
@pytest.mark.parametrize(
    ("days", "reason"),
    [
        ([360, None, 350, 0, 200, 600, 0], "unknown_days"),
        ([None] * 7, "unknown_days"),
        ([0] * 7, "all_rest"),
        ([300] * 7, "zero_variance"),
        ([300], "too_few_days"),
        ([], "too_few_days"),
    ],
)
def test_a_week_that_says_nothing_gives_no_figure_and_the_reason(figure, days, reason):
    told = figure(days)
    assert (told.value, told.reason) == (None, reason)


def test_an_unknown_day_is_never_read_as_rest():
    assert monotony([360, None, 0, 0, 0, 0, 0]).value is None
    assert monotony([360, 0, 0, 0, 0, 0, 0]).value is not None


def test_decimals_give_decimals_rounded_once():
    week = [Decimal(load) for load in (360, 0, 350, 0, 200, 600, 0)]
    assert monotony(week).value == Decimal("0.924908")
    # Strain from the rounded monotony would be 1396.611080.
    assert strain(week).value == Decimal("1396.610856")


def test_the_kind_of_deviation_goes_with_the_figure():
    assert monotony([1, 2, 3], "population").sd_kind == "population"
    assert monotony([1, 2, 3]).sd_kind == "sample"


def test_an_unknown_day_leaves_the_weighted_mean_where_it_was():
    assert ewma([100, None, 0], 7) == [100, 100, 75]
    assert ewma([None, 100, 0], 7) == [100, 75]
    assert ewma([None, None], 7) == []


@pytest.mark.parametrize("day", [-1, float("nan"), float("inf"), "rest"])
def test_a_day_load_that_is_no_load_is_refused(day):
    with pytest.raises(DayLoadError):
        monotony([day, 1, 2])
    with pytest.raises(DayLoadError):
        ewma([1, day], 7)


@pytest.mark.parametrize(
    ("rpe", "minutes"),
    [(Decimal(11), Decimal(60)), (Decimal(-1), Decimal(60)), (Decimal(5), Decimal(-1)), (Decimal(5), Decimal("NaN"))],
)
def test_an_impossible_session_is_refused(rpe, minutes):
    with pytest.raises(DayLoadError):
        session_load(rpe, minutes)


def test_a_span_under_a_day_is_refused():
    with pytest.raises(DayLoadError, match="one day or more"):
        ewma([1.0], 0)
