"""What holds for pain say of exercises."""

from datetime import date

import pytest

from programs.prescription.client_fit import ClientLimits, exercise_warnings, fits, hold_warnings
from programs.prescription.movement_holds import Hold, HoldAction
from tests.programs.prescription.catalogue_cast import catalogue

SINCE = date(2031, 3, 5)
PRESS = catalogue()["bench-press"]
SQUAT = catalogue()["back-squat"]


def hold(scope: str, action: HoldAction = "stop_movement") -> Hold:
    return Hold(scope=scope, action=action, from_date=SINCE)


def codes(*holds: Hold) -> list[tuple[str, str | None]]:
    return [(one.code, one.exercise) for one in hold_warnings([SQUAT, PRESS], holds)]


@pytest.mark.parametrize(
    ("scope", "held"),
    [
        ("region:shoulder:left", ["bench-press"]),
        ("region:knee", ["back-squat"]),
        ("exercise:bench-press", ["bench-press"]),
        ("region:left_eyebrow", []),
        ("all", ["back-squat", "bench-press"]),
    ],
)
def test_a_hold_bars_what_its_scope_names_and_nothing_else(scope: str, held: list[str]) -> None:
    assert codes(hold(scope)) == [("movement_held", key) for key in held]


def test_a_region_and_its_exercise_are_told_once() -> None:
    holds = (hold("exercise:bench-press"), hold("region:shoulder:left"))
    (warning,) = hold_warnings([PRESS], holds)
    assert warning.detail.startswith("Bench press loads the left shoulder, held for pain since 2031-03-05")


def test_no_increase_warns_and_bars_nothing() -> None:
    limits = ClientLimits(holds=(hold("region:shoulder", "no_increase"),))
    assert codes(*limits.holds) == [("no_increase", "bench-press")]
    assert (list(exercise_warnings(PRESS, limits)), fits(PRESS, limits)) == ([], True)


def test_stopped_training_is_said_once_for_the_whole_session_and_nothing_fits() -> None:
    stopped = hold("all", "stop_training")
    assert codes(stopped) == [("training_held", None)]
    assert not fits(SQUAT, ClientLimits(holds=(stopped,)))


def test_without_holds_there_is_nothing_to_say() -> None:
    assert hold_warnings([SQUAT, PRESS], ()) == ()
    assert fits(PRESS, ClientLimits(session_min=None, max_complexity=3, holds=()))
