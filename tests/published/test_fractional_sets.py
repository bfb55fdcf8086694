"""Weekly sets by muscle, counted directly, fractionally and in total.

Pelland et al. 2024 SportRxiv (preprint): indirect sets as 0, 0.5 or 1. The example is computed by hand.
"""

from decimal import Decimal

import pytest

from programs.prescription.structure import Block, ExerciseFacts, Session, SetGroup, Slot
from programs.prescription.volume import sets_band, volume

LIFTS = [
    ("bench", 4, ("chest",), ("triceps", "front_delts")),
    ("row", 4, ("upper_back",), ("biceps",)),
    ("pulldown", 3, ("lats",), ("biceps",)),
    ("curl", 3, ("biceps",), ()),
    ("pushdown", 3, ("triceps",), ()),
]
EXERCISES = {
    key: ExerciseFacts(key=key, name=key, pattern="x", primary_muscles=primary, secondary_muscles=secondary)
    for key, _, primary, secondary in LIFTS
}


def week(**effort):
    return Session(
        blocks=tuple(
            Block(slots=(Slot(slot_key=key, exercise=key, sets=(SetGroup(count=count, reps_low=8, **effort),)),))
            for key, count, _, _ in LIFTS
        )
    )


FRACTIONAL = {
    "chest": "4",
    "triceps": "5",
    "front_delts": "2",
    "upper_back": "4",
    "lats": "3",
    "biceps": "6.5",
}


def test_a_secondary_muscle_gets_half_a_set():
    muscles = {row.muscle: row for row in volume([week(in_reserve=Decimal(2))], EXERCISES).muscles}
    assert {name: row.fractional for name, row in muscles.items()} == {
        name: Decimal(sets) for name, sets in FRACTIONAL.items()
    }
    assert (muscles["triceps"].total, muscles["biceps"].total) == (7, 10)
    assert (muscles["triceps"].direct, muscles["biceps"].direct) == (3, 3)


def test_sets_of_unknown_effort_are_counted_beside_and_never_in():
    found = volume([week()], EXERCISES)
    muscles = {row.muscle: row for row in found.muscles}
    assert (found.hard_sets, found.unknown_effort_sets) == (0, 17)
    assert muscles["biceps"].fractional == 0
    assert muscles["biceps"].unknown_effort == Decimal("6.5")


@pytest.mark.parametrize(
    ("sets", "band"), [("4.5", "under_5"), ("5", "5_to_9"), ("10", "10_to_20"), ("20", "10_to_20"), ("20.5", "over_20")]
)
def test_weekly_sets_lie_in_the_bands_that_reviews_compared(sets, band):
    # Schoenfeld et al. 2017: under 5, 5-9, 10 and over. Baz-Valle et al. 2022: over 20.
    assert sets_band(Decimal(sets)) == band


def test_a_muscle_listed_twice_is_counted_as_primary_only():
    twice = ExerciseFacts(
        key="curl", name="Curl", pattern="x", primary_muscles=("biceps",), secondary_muscles=("biceps",)
    )
    lift = Slot(slot_key="A1", exercise="curl", sets=(SetGroup(count=3, reps_low=8, rpe=Decimal(9)),))
    (row,) = volume([Session(blocks=(Block(slots=(lift,)),))], {"curl": twice}).muscles
    assert (row.direct, row.fractional, row.total) == (3, 3, 3)
