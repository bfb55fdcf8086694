"""Whether a program's exercises fit a client."""

from decimal import Decimal
from typing import Any

import pytest

from programs.prescription.client_fit import ClientLimits, fit_warnings
from programs.prescription.structure import ExerciseFacts

PRESS = ExerciseFacts(
    key="dumbbell-press",
    name="Dumbbell press",
    pattern="horizontal_push",
    equipment=("dumbbell", "bench"),
    complexity=2,
)
HOUR = Decimal(60)


def codes(**limits: Any) -> list[str]:
    return [warning.code for warning in fit_warnings([PRESS], HOUR, ClientLimits(**limits))]


@pytest.mark.parametrize(
    ("equipment", "expected"),
    [
        ((), []),
        (("dumbbell", "bench"), []),
        (("dumbbells", "adjustable_bench"), []),
        (("dumbbells",), ["missing_equipment"]),
        (("barbell",), ["missing_equipment"]),
    ],
)
def test_what_is_not_at_hand_is_told_unless_nothing_was_said(equipment, expected) -> None:
    assert codes(equipment=equipment) == expected


def test_movements_to_avoid_are_patterns_or_exercises() -> None:
    assert codes(avoided_movements=("horizontal_push",)) == ["avoided_movement"]
    assert codes(avoided_movements=("dumbbell-press",)) == ["avoided_movement"]
    assert codes(avoided_movements=("squat",)) == []


def test_complexity_and_minutes_have_limits() -> None:
    assert codes(max_complexity=1) == ["too_complex"]
    assert codes(max_complexity=2) == []
    assert codes(session_min=59) == ["session_too_long"]
    assert codes(session_min=60) == []
