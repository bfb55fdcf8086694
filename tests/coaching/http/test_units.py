"""Loads are posted in one unit and returned in both."""

from decimal import Decimal

import pytest

from coaching.http.units import LoadSerializer, show_load
from coaching.measures.load import Load


class OptionalLoad(LoadSerializer):
    """A load that may be left out."""

    load_required = False


@pytest.mark.parametrize(
    ("sent", "load"),
    [
        ({"load_kg": 80.5}, Load(Decimal("80.5"), "kg")),
        ({"load_lb": "225"}, Load(Decimal(225), "lb")),
        ({"load_kg": -20}, Load(Decimal(-20), "kg")),
    ],
)
def test_a_load_is_read_as_entered(sent: dict[str, object], load: Load) -> None:
    serializer = LoadSerializer(data=sent)
    serializer.is_valid(raise_exception=True)
    assert serializer.validated_data["load"] == load


@pytest.mark.parametrize(
    ("sent", "field"),
    [({}, "load_kg"), ({"load_kg": 1, "load_lb": 2}, "load_lb"), ({"load_kg": "heavy"}, "load_kg")],
)
def test_a_load_in_no_unit_or_in_both_is_refused(sent: dict[str, object], field: str) -> None:
    serializer = LoadSerializer(data=sent)
    assert not serializer.is_valid()
    assert field in serializer.errors


def test_a_load_that_may_be_left_out_is_none() -> None:
    serializer = OptionalLoad(data={})
    serializer.is_valid(raise_exception=True)
    assert serializer.validated_data["load"] is None


def test_a_load_is_returned_in_both_units_and_as_entered() -> None:
    assert show_load(Decimal(225), "lb") == {
        "load_kg": Decimal("102.05828325"),
        "load_lb": Decimal(225),
        "load_entered": {"value": Decimal(225), "unit": "lb"},
    }
    assert show_load(Decimal(100), "kg")["load_lb"] == Decimal("220.4623")
    assert show_load(None, None) == {"load_kg": None, "load_lb": None, "load_entered": None}
