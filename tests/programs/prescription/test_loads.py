from datetime import date
from decimal import Decimal

import pytest

from programs.prescription.loadable import default_step, loadable
from programs.prescription.loads import ReferenceLoad, resolve_load
from programs.prescription.prescribed_loads import (
    AbsoluteLoad,
    BandLoad,
    BodyweightLoad,
    PercentLoad,
    RelativeToTopLoad,
    SameAsLoad,
)
from programs.prescription.tempo import parse_tempo
from programs.prescription.tempo_classes import tempo_class

KG = [
    ("81.25", "barbell", "80"),
    ("83.74", "barbell", "82.5"),
    ("82.5", "barbell", "82.5"),
    ("23.9", "dumbbell_pair", "22"),
    ("23.9", "kettlebell", "20"),
    ("64.9", "stack", "60"),
    ("-12.4", "bodyweight", "-12.5"),
    ("31.3", "machine_monitor", "31.3"),
]


@pytest.mark.parametrize(("asked", "loading", "expected"), KG)
def test_a_load_is_rounded_down_to_what_can_be_loaded(asked, loading, expected):
    found = loadable(AbsoluteLoad(value=Decimal(asked)), loading)
    assert found.load == AbsoluteLoad(value=Decimal(expected))
    assert found.rounded == (Decimal(asked) != Decimal(expected))


def test_pounds_that_can_be_loaded_stay_exactly_as_they_are():
    asked = AbsoluteLoad(value=Decimal(225), unit="lb")
    assert loadable(asked, "barbell", "lb").load == asked
    in_kg = AbsoluteLoad(value=Decimal("102.05828325"))
    assert loadable(in_kg, "barbell", "lb").load == asked


def test_kilograms_are_rounded_in_the_clients_pounds():
    found = loadable(AbsoluteLoad(value=Decimal(100)), "barbell", "lb")
    assert found.load == AbsoluteLoad(value=Decimal(220), unit="lb")
    assert found.load.load_kg == Decimal("99.7903214")


def test_a_clients_own_step_goes_before_the_usual_one():
    found = loadable(AbsoluteLoad(value=Decimal("81.2")), "barbell", step=Decimal("1.25"))
    assert found.load == AbsoluteLoad(value=Decimal("80.00"))
    assert default_step("band", "kg") is None
    with pytest.raises(ValueError, match="step above zero, not 0"):
        loadable(AbsoluteLoad(value=Decimal(80)), "barbell", step=Decimal(0))


def test_less_than_the_empty_bar_cannot_be_loaded_and_says_so():
    found = loadable(AbsoluteLoad(value=Decimal(15)), "barbell")
    assert found.load is None
    assert found.reason == "15 kg is less than the empty bar of 20 kg."


TESTED = ReferenceLoad(kind="tested", load_kg=Decimal(140), local_date=date(2026, 3, 2))
ESTIMATED = ReferenceLoad(kind="estimated", load_kg=Decimal(150))
TRAINING_MAX = ReferenceLoad(kind="training_max", load_kg=Decimal(120))


def resolve(load, *references, **options):
    return resolve_load(load, {item.kind: item for item in references}, loading="barbell", **options)


def test_a_percentage_is_taken_of_the_reference_it_names():
    found = resolve(PercentLoad(of="tested", pct=Decimal(75)), TESTED, ESTIMATED)
    assert found.status == "resolved"
    assert found.load_kg == Decimal(105)
    assert found.from_what == "75 % of the tested maximum of 2026-03-02 (140 kg)."


def test_a_training_maximum_is_used_where_there_is_one():
    found = resolve(PercentLoad(of="training_max", pct=Decimal(75)), TESTED, TRAINING_MAX)
    assert found.load_kg == Decimal(90)


def test_without_a_training_maximum_ninety_percent_of_the_best_known_stands_in():
    found = resolve(PercentLoad(of="training_max", pct=Decimal(75)), TESTED, ESTIMATED)
    assert found.asked_kg == Decimal("101.25")
    assert found.load_kg == Decimal(100)
    assert found.from_what == (
        "75 % of a training maximum taken as 90 % of the estimated maximum (150 kg). Rounded down to 100 kg."
    )


def test_a_reference_is_told_in_the_unit_that_the_client_loads_in():
    tested = ReferenceLoad(kind="tested", load_kg=Decimal("142.88159655"))
    found = resolve(PercentLoad(of="tested", pct=Decimal(70)), tested, unit="lb")
    assert found.from_what == "70 % of the tested maximum (315 lb). Rounded down to 220 lb."


@pytest.mark.parametrize("of", ["training_max", "tested", "estimated", "working"])
def test_a_missing_reference_is_a_conflict_with_a_suggested_test(of):
    found = resolve(PercentLoad(of=of, pct=Decimal(75)))
    assert (found.status, found.load, found.asked_kg) == ("needs_reference", None, None)
    assert found.suggestion.startswith("Suggested test:")


def test_a_slow_tempo_takes_the_coachs_factor_or_asks_for_effort():
    load = PercentLoad(of="tested", pct=Decimal(75))
    assert resolve(load, TESTED, tempo_class="slow").status == "needs_effort"
    found = resolve(load, TESTED, tempo_class="slow", tempo_factor=Decimal("0.8"))
    assert found.asked_kg == Decimal(84)
    assert found.load_kg == Decimal("82.5")
    assert "times 0.8 for a slow tempo" in found.from_what


def test_a_percentage_below_the_bar_is_told_and_not_loaded():
    found = resolve(PercentLoad(of="tested", pct=Decimal(10)), TESTED)
    assert (found.status, found.load_kg) == ("not_loadable", None)


@pytest.mark.parametrize(
    ("load", "status"),
    [
        (None, "by_effort"),
        (BodyweightLoad(), "bodyweight"),
        (BandLoad(text="red"), "band"),
        (RelativeToTopLoad(pct=Decimal(-10)), "on_the_day"),
        (SameAsLoad(slot_key="A1"), "on_the_day"),
    ],
)
def test_a_load_that_is_no_figure_says_what_it_is(load, status):
    found = resolve(load)
    assert (found.status, found.load_kg) == (status, None)
    assert found.from_what


def test_a_written_load_stays_as_written():
    found = resolve(AbsoluteLoad(value=Decimal("81.3")))
    assert found.load == AbsoluteLoad(value=Decimal("81.3"))


@pytest.mark.parametrize(
    ("text", "restful_end", "expected"),
    [
        ("20X1", "shortened", "standard"),
        ("21X3", "shortened", "standard"),
        ("31X3", "shortened", "slow"),
        ("41X1", "shortened", "slow"),
        ("3023", "shortened", "slow"),
        ("22X0", "shortened", "paused"),
        ("31X2", "lengthened", "paused"),
        ("52X0", "none", "slow_paused"),
        ("31A1", "none", "assisted"),
    ],
)
def test_a_tempo_falls_in_its_class_by_eccentric_and_working_pause(text, restful_end, expected):
    assert tempo_class(parse_tempo(text), restful_end) == expected


def test_no_tempo_is_a_class_of_its_own():
    assert tempo_class(None) == "unspecified"
