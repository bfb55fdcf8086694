import numpy as np
import pytest

from logs.analysis.trend import theil_sen, theil_sen_lines

NAN = float("nan")


def test_a_missing_week_costs_a_point_and_no_slope():
    found = theil_sen([0, 7, 14, 28, 35], [100, 101, 102, 104, 105])
    assert (found.per_day, found.n) == (pytest.approx(1 / 7), 5)
    assert found == theil_sen([0, 7, 14, 21, 28, 35], [100, 101, 102, NAN, 104, 105])


def test_the_level_is_the_median_value():
    assert theil_sen([0, 7, 14, 21], [100, 90, 104, 102]).level == 101


@pytest.mark.parametrize("values", [[], [100.0], [NAN, NAN, 100.0]])
def test_one_value_has_no_slope(values):
    found = theil_sen(range(len(values)), values)
    assert (found.per_day, found.low, found.high) == (None, None, None)


def test_values_of_one_day_have_no_slope():
    found = theil_sen([5, 5, 5], [100, 101, 102])
    assert (found.per_day, found.low, found.n) == (None, None, 3)


def test_equal_values_have_a_slope_of_nought_for_certain():
    found = theil_sen(range(8), [100] * 8)
    assert (found.per_day, found.low, found.high) == (0, 0, 0)


@pytest.mark.parametrize(("days", "values"), [((3,), (2, 4)), ((2, 3), (2, 4)), ((4,), (4,))])
def test_days_that_do_not_fit_are_refused(days, values):
    with pytest.raises(ValueError, match="a day for each"):
        theil_sen_lines(np.zeros(days), np.zeros(values))


def test_no_lines_have_no_slopes():
    assert len(theil_sen_lines(np.arange(5.0), np.empty((0, 5))).per_day) == 0
    assert theil_sen_lines(np.empty(0), np.empty((2, 0))).n.tolist() == [0, 0]
