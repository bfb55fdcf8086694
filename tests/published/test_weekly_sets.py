"""Sets per muscle, direct, fractional and total: Pelland et al. 2024, SportRxiv preprint (abstract read).

The example week was reckoned by hand from the three definitions.
"""

from datetime import date
from decimal import Decimal

import pytest

from logs.analysis.counted_sets import muscle_sets
from logs.analysis.facts import LiftedExercise, SetFact

WEEK = (
    ("bench", 4, ("chest",), ("triceps", "front_delts")),
    ("row", 4, ("upper_back",), ("biceps",)),
    ("pull-down", 3, ("lats",), ("biceps",)),
    ("curl", 3, ("biceps",), ()),
    ("push-down", 3, ("triceps",), ()),
)


@pytest.mark.parametrize(
    ("muscle", "direct", "fractional", "total"),
    [
        ("chest", 4, 4, 4),
        ("triceps", 3, 5, 7),
        ("front_delts", 0, 2, 4),
        ("upper_back", 4, 4, 4),
        ("lats", 3, 3, 3),
        ("biceps", 3, Decimal("6.5"), 10),
    ],
)
def test_each_muscle_is_counted_in_the_three_ways(muscle, direct, fractional, total):
    sets = [
        SetFact(
            session_id="s1",
            local_date=date(2031, 3, 3),
            exercise=LiftedExercise(key=key, primary_muscles=primary, secondary_muscles=secondary),
            set_number=number,
            reps=8,
            in_reserve=Decimal(2),
        )
        for key, count, primary, secondary in WEEK
        for number in range(1, count + 1)
    ]
    counts = muscle_sets(sets)[muscle]
    assert (counts.direct, counts.fractional, counts.total) == (direct, fractional, total)
