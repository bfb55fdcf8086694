"""Loading zones by goal: NSCA goal table (read in agreeing pages)."""

from decimal import Decimal

import pytest

from programs.prescription.stimulus import load_zone

# Strength: 85 % of the maximum or more, 6 repetitions or fewer. Power: 80 to 90 %, 1 or 2 (single efforts), 75 to 85 %,
# 3 to 5 (repeated). Size: 67 to 85 %, 6 to 12. Endurance: 67 % or less, 12 or more.
ZONES = [
    (3, 90, ("strength",)),
    (1, 92, ("strength",)),
    (2, 90, ("strength", "power")),
    (1, 80, ("power",)),
    (5, 85, ("strength", "power")),
    (3, 75, ("power",)),
    (6, 85, ("strength", "size")),
    (8, 75, ("size",)),
    (12, 67, ("size", "endurance")),
    (15, 60, ("endurance",)),
    # Between the rows: light for few repetitions, heavy for many.
    (2, 79, ()),
    (4, 74, ()),
    (5, 70, ()),
    (10, 90, ()),
    (15, 75, ()),
]


@pytest.mark.parametrize(("reps", "pct", "goals"), ZONES)
def test_repetitions_and_load_fall_in_the_published_zone(reps, pct, goals):
    assert load_zone(reps, Decimal(pct)) == goals


@pytest.mark.parametrize(
    ("reps", "goals"), [(1, ("strength",)), (6, ("strength", "size")), (9, ("size",)), (20, ("endurance",))]
)
def test_without_a_load_the_repetitions_are_read_alone(reps, goals):
    assert load_zone(reps) == goals
