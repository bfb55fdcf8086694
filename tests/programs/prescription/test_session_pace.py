"""A planned time at a client's usual pace."""

from decimal import Decimal

import pytest

from programs.prescription.client_fit import ClientLimits, pace_warnings
from programs.prescription.session_pace import ClientPace, paced_time

SLOW = ClientPace(ratio=Decimal("1.22"), sessions=9)


def test_a_planned_time_is_told_with_the_usual_pace_beside_it() -> None:
    paced = paced_time(Decimal("42.0"), Decimal("48.0"), SLOW)
    assert paced.words == "planned 42–48 min; at this client's usual pace about 55 min, from 9 sessions"  # noqa: RUF001
    assert (paced.minutes, paced.ratio, paced.sessions, paced.reason) == (55, Decimal("1.22"), 9, "")
    assert paced.at_pace == "at this client's usual pace about 55 min, from 9 sessions"


def test_one_planned_time_is_told_as_one() -> None:
    assert paced_time(Decimal(45), Decimal(45), SLOW).words.startswith("planned 45 min; ")


@pytest.mark.parametrize(
    ("pace", "so_far"),
    [
        (None, "no session is so far."),
        (ClientPace(sessions=1), "1 is so far."),
        (ClientPace(sessions=5), "5 are so far."),
    ],
)
def test_without_a_pace_nothing_is_said_but_why(pace: ClientPace | None, so_far: str) -> None:
    paced = paced_time(Decimal(42), Decimal(48), pace)
    assert (paced.minutes, paced.ratio, paced.words, paced.at_pace) == (None, None, "", "")
    assert paced.reason.startswith("A usual pace takes 6 planned sessions")
    assert paced.reason.endswith(so_far)


@pytest.mark.parametrize(("has_min", "warned"), [(54, True), (55, False), (None, False)])
def test_a_session_that_fits_by_the_timeline_may_be_too_long_at_the_clients_pace(
    has_min: int | None, warned: bool
) -> None:
    found = list(pace_warnings(Decimal(45), ClientLimits(session_min=has_min), SLOW))
    assert [warning.code for warning in found] == (["too_long_at_pace"] if warned else [])
    assert not warned or "takes about 55 min; the client has 54" in found[0].detail


def test_an_unknown_pace_warns_of_nothing() -> None:
    assert not list(pace_warnings(Decimal(45), ClientLimits(session_min=10), ClientPace(sessions=5)))
    assert not list(pace_warnings(Decimal(45), ClientLimits(session_min=10), None))
