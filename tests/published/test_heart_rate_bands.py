"""Heart-rate bands: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334 (read in an adaptation and a later review), taken
half-open; predicted maximum: Tanaka, Monahan, Seals 2001 J Am Coll Cardiol 37:153 (abstract)."""

from decimal import Decimal

import pytest

from programs.prescription.heart_rate import (
    HeartRateTargets,
    heart_rate_targets,
    intensity,
    predicted_max_bpm,
    reserve_pct,
    target_bpm,
)


@pytest.mark.parametrize(("age_years", "bpm"), [(20, 194), (40, 180), (60, 166)])
def test_the_predicted_maximum_is_208_less_seven_tenths_of_the_age(age_years, bpm):
    assert predicted_max_bpm(age_years) == bpm


@pytest.mark.parametrize(("pct", "bpm"), [(40, 108), (60, 132), (90, 168)])
def test_a_share_of_the_reserve_at_age_40_and_rest_60(pct, bpm):
    # Reckoned: rest + share x (180 - 60).
    assert target_bpm(Decimal(pct), resting_bpm=60, max_bpm=Decimal(180)) == bpm


def test_150_with_rest_60_and_maximum_180_is_three_quarters_of_the_reserve():
    assert reserve_pct(150, resting_bpm=60, max_bpm=Decimal(180)) == 75


@pytest.mark.parametrize(
    ("pct", "name"),
    [
        ("29", "very_light"),
        ("30", "light"),
        ("39.9", "light"),
        ("40", "moderate"),
        ("59.9", "moderate"),
        ("60", "vigorous"),
        ("89.9", "vigorous"),
        ("90", "near_maximal"),
    ],
)
def test_the_published_bands_are_half_open(pct, name):
    assert intensity(Decimal(pct)) == name


def test_the_bands_of_a_forty_year_old_with_a_resting_heart_rate_of_60():
    found = heart_rate_targets(resting_bpm=60, age_years=40)
    assert isinstance(found, HeartRateTargets)
    assert [(band.intensity, band.low_bpm, band.high_bpm) for band in found.bands] == [
        ("light", 96, 108),
        ("moderate", 108, 132),
        ("vigorous", 132, 168),
        ("near_maximal", 168, 180),
    ]
