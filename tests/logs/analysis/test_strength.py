from decimal import Decimal

import pytest

from logs.analysis.strength import (
    FORMULAS,
    EstimateError,
    estimated_maximum,
    reserve_from_rpe,
    session_best,
    tempo_class,
    tempo_note,
    weekly_value,
)
from programs.prescription.tempo import parse_tempo


@pytest.mark.parametrize("formula", FORMULAS)
def test_one_repetition_to_failure_is_the_load_itself(formula):
    assert estimated_maximum(Decimal("142.5"), 1, 0, formula).value_kg == Decimal("142.5")


@pytest.mark.parametrize(
    ("repetitions", "in_reserve", "confidence", "reason"),
    [
        (10, 0, "normal", "within_bounds"),
        (7, 3, "normal", "within_bounds"),
        (11, 0, "low", "over_10_repetitions"),
        (12, 0, "low", "over_10_repetitions"),
        (9, Decimal("1.5"), "low", "over_10_repetitions"),
        (13, 0, "none", "over_12_repetitions"),
        (10, 3, "none", "over_12_repetitions"),
        (5, Decimal("3.5"), "none", "over_3_in_reserve"),
        (5, None, "none", "unknown_effort"),
        (0, 0, "none", "no_repetitions"),
    ],
)
def test_an_estimate_is_only_as_good_as_its_set(repetitions, in_reserve, confidence, reason):
    estimate = estimated_maximum(Decimal(100), repetitions, in_reserve)
    assert (estimate.confidence, estimate.reason) == (confidence, reason)
    assert (estimate.value_kg is None) is (confidence == "none")
    assert estimate.enters_line is (confidence == "normal")


@pytest.mark.parametrize("load_kg", [0, -20, Decimal(0)])
def test_no_load_gives_no_estimate(load_kg):
    assert estimated_maximum(load_kg, 5).reason == "no_load"


def test_formula_inputs_and_published_error_go_with_the_estimate():
    estimate = estimated_maximum(100, 5, 2, "brzycki")
    assert (estimate.formula, estimate.load_kg, estimate.repetitions, estimate.in_reserve) == ("brzycki", 100, 5, 2)
    assert "standard error" in estimate.published_error


def test_a_decimal_gives_a_decimal_to_six_places_and_a_float_a_float():
    assert estimated_maximum(Decimal(100), 5).value_kg == Decimal("116.666667")
    assert isinstance(estimated_maximum(100, 5).value_kg, float)
    assert isinstance(estimated_maximum(100.0, 5).value_kg, float)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((100, 5, 0, "guess"), "epley, brzycki"),
        ((100, 2.5), "whole number"),
        ((100, True), "whole number"),
        ((100, -1), "whole number"),
        ((float("nan"), 5), "finite"),
        ((Decimal("Infinity"), 5), "finite"),
        ((100, 5, -1), "0 or more"),
        ((100, 5, float("inf")), "finite"),
    ],
)
def test_impossible_inputs_are_refused_with_what_to_change(arguments, words):
    with pytest.raises(EstimateError, match=words):
        estimated_maximum(*arguments)


@pytest.mark.parametrize("rpe", [Decimal("10.5"), Decimal(-1)])
def test_a_rating_off_the_scale_is_refused(rpe):
    with pytest.raises(EstimateError, match="0 to 10"):
        reserve_from_rpe(rpe)


@pytest.mark.parametrize(
    ("text", "restful_end", "expected"),
    [
        ("20X0", "shortened", "standard"),
        ("31X1", "shortened", "standard"),
        # A squat rests at the top: a long pause there is no working pause, one at the bottom is.
        ("20X3", "shortened", "standard"),
        ("22X1", "shortened", "paused"),
        # A pull-up rests at the bottom: two seconds at the top are work.
        ("31X2", "lengthened", "paused"),
        ("30X2", "none", "paused"),
        ("4010", "shortened", "slow"),
        ("3041", "shortened", "slow"),
        ("3030", "none", "standard"),
        ("41X1", "shortened", "slow"),
        ("42X1", "shortened", "slow_paused"),
        ("52A0", "shortened", "assisted"),
    ],
)
def test_a_tempo_falls_into_one_class(text, restful_end, expected):
    assert tempo_class(parse_tempo(text), restful_end) == expected


def test_no_tempo_is_a_class_of_its_own():
    assert tempo_class(None) == "unspecified"


def test_only_a_standard_line_goes_without_a_note():
    assert tempo_note("standard") == ""
    assert "comparison only" in tempo_note("slow")
    assert "comparison only" in tempo_note("unspecified")


def test_a_weeks_value_is_the_median_of_its_sessions_bests():
    assert session_best([Decimal(100), Decimal(110), Decimal(105)]) == Decimal(110)
    assert session_best([]) is None
    assert weekly_value([Decimal(130), Decimal(100), Decimal(110)]) == Decimal(110)
    assert weekly_value([Decimal("100.000001"), Decimal("100.000002")]) == Decimal("100.000002")
    assert weekly_value([]) is None
