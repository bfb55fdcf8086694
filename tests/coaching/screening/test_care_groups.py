"""Which outputs care switches off."""

from datetime import date

import pytest

from coaching.screening.care_groups import care_groups_of, switched_off

TODAY = date(2031, 3, 5)


@pytest.mark.parametrize(
    ("group", "weight", "heart_rate"),
    [
        ("eating_disorder_history", True, False),
        ("minor", True, False),
        ("pregnant", True, True),
        ("postpartum", True, True),
        ("heart_rate_medicine", False, True),
        ("over_65", False, False),
        ("known_disease", False, False),
    ],
)
def test_a_group_switches_off_its_outputs(group, weight, heart_rate):
    assert bool(switched_off("bodyweight", [group])) is weight
    assert bool(switched_off("heart_rate", [group])) is heart_rate


def test_under_18_by_birth_date_is_a_minor_whatever_was_said():
    assert care_groups_of([], birth_date=date(2013, 3, 6), today=TODAY) == {"minor"}
    assert care_groups_of([], birth_date=date(2013, 3, 5), today=TODAY) == frozenset()
    assert care_groups_of(["over_65"], birth_date=None, today=TODAY) == {"over_65"}
