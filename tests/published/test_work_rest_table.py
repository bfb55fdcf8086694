"""Work and rest by energy system: NSCA Essentials, table 3.6 (read in two agreeing pages)."""

import pytest

from programs.prescription.energy_systems import energy_row, read_work_rest

# Work of each row, with the rest that its ratio makes of it: 1:12-1:20, 1:3-1:5, 1:3-1:4, 1:1-1:3.
ROWS = [
    (8, "phosphagen", 96, 160),
    (25, "fast_glycolysis", 75, 125),
    (120, "fast_glycolysis_and_oxidative", 360, 480),
    (300, "oxidative", 300, 900),
]


@pytest.mark.parametrize(("work_s", "system", "low_s", "high_s"), ROWS)
def test_each_row_gives_its_rest(work_s, system, low_s, high_s):
    found = read_work_rest("A1", work_s, low_s, near_maximal=True)
    assert found.row.system == system
    assert (found.published_low_s, found.published_high_s) == (low_s, high_s)
    assert found.verdict == "within"
    assert read_work_rest("A1", work_s, low_s - 1, near_maximal=True).verdict == "less"
    assert read_work_rest("A1", work_s, high_s, near_maximal=True).verdict == "within"
    assert read_work_rest("A1", work_s, high_s + 1, near_maximal=True).verdict == "more"


@pytest.mark.parametrize("work_s", [11, 14, 31, 45, 59])
def test_the_gaps_of_the_table_are_said_as_gaps(work_s):
    assert energy_row(work_s) is None
    found = read_work_rest("A1", work_s, 60, near_maximal=True)
    assert (found.row, found.verdict, found.published_low_s) == (None, None, None)
    assert found.reason.startswith("Between rows")


def test_the_table_begins_at_five_seconds():
    assert "begins at 5 s" in read_work_rest("A1", 4, 60, near_maximal=True).reason


@pytest.mark.parametrize("work_s", [5, 10, 15, 30, 60, 180, 181])
def test_the_ends_of_the_rows_belong_to_them(work_s):
    assert energy_row(work_s) is not None
