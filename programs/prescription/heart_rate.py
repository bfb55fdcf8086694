"""Heart-rate targets by share of heart rate reserve, or the reason why there are none.

Bands are whole percentages of the reserve, taken half-open: from 30, 40, 60 and 90 %. A target is
resting + share x (maximum - resting). The maximum is measured, or predicted as 208 - 0.7 x age with an error of
about 10 b/min, which the bands carry. Never for a client on heart-rate medicine, in pregnancy or after it: effort
is said by RPE there.

Source: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334; Tanaka, Monahan, Seals 2001 J Am Coll Cardiol 37:153.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, Literal

from programs.prescription.constants import (
    AGE_MAX_YEARS,
    HEART_RATE_MAX_BPM,
    PERCENT,
    PREDICTED_MAX_BPM,
    PREDICTED_MAX_BPM_PER_YEAR,
    PREDICTED_MAX_ERROR_BPM,
    RESERVE_LIGHT_PCT,
    RESERVE_MODERATE_PCT,
    RESERVE_NEAR_MAXIMAL_PCT,
    RESERVE_VIGOROUS_PCT,
    RESTING_MIN_BPM,
)

Intensity = Literal["very_light", "light", "moderate", "vigorous", "near_maximal"]

HEART_RATE_SOURCE: Final = (
    "ACSM, Garber 2011 Med Sci Sports Exerc 43:1334; maximum: Tanaka, Monahan, Seals 2001 J Am Coll Cardiol 37:153."
)
"""Ground of the bands. Source: as named."""

_CAUTION: Final = "A heart rate is a guide, not a limit that makes work safe; how it feels comes first."
"""What is said beside every target. Practice."""

_SPARED: Final[dict[str, str]] = {
    "heart_rate_medicine": "Medicine that changes the heart rate makes every target wrong.",
    "pregnant": "Heart rate is no guide to effort in pregnancy.",
    "postpartum": "Heart rate is no guide to effort in the months after a birth.",
}
"""Care groups without heart-rate targets, and why. Practice."""

_BANDS: Final[tuple[tuple[Intensity, int, int | None], ...]] = (
    ("light", RESERVE_LIGHT_PCT, RESERVE_MODERATE_PCT),
    ("moderate", RESERVE_MODERATE_PCT, RESERVE_VIGOROUS_PCT),
    ("vigorous", RESERVE_VIGOROUS_PCT, RESERVE_NEAR_MAXIMAL_PCT),
    ("near_maximal", RESERVE_NEAR_MAXIMAL_PCT, None),
)
"""Bands of heart rate reserve, in percent. Source: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334."""


class HeartRateError(ValueError):
    """A figure that nobody has; the text says which, and within what it must be."""

    code = "heart_rate"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeartRateBand:
    """One band: from ``low_bpm`` up to, and not including, ``high_bpm`` (the maximum, in the last one)."""

    intensity: Intensity
    low_pct: int
    high_pct: int
    low_bpm: int
    high_bpm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HeartRateTargets:
    """The bands, with the maximum that they are reckoned from and its error either way, in b/min."""

    bands: tuple[HeartRateBand, ...]
    max_bpm: int
    max_from: Literal["measured", "predicted"]
    error_bpm: int
    resting_bpm: int
    source: str = HEART_RATE_SOURCE
    caution: str = _CAUTION


@dataclass(frozen=True, slots=True, kw_only=True)
class NoHeartRateTargets:
    """Why there are no targets, and what to go by instead."""

    reason: str
    instead: str = "Go by RPE and the talk test."


def age_years(birth_date: date, today: date) -> int:
    """Give whole years of age on a day; a birthday counts from the day itself."""
    before = (today.month, today.day) < (birth_date.month, birth_date.day)
    return today.year - birth_date.year - before


def predicted_max_bpm(age_years: int) -> Decimal:
    """Predict the maximal heart rate from age, in b/min; the error is about 10 either way.

    Raises:
        HeartRateError: for an age that nobody has.

    Source: Tanaka, Monahan, Seals 2001 J Am Coll Cardiol 37:153.
    """
    if not 0 < age_years <= AGE_MAX_YEARS:
        raise HeartRateError(f"Give an age of 1 to {AGE_MAX_YEARS} years, not {age_years}.")
    return PREDICTED_MAX_BPM - PREDICTED_MAX_BPM_PER_YEAR * age_years


def target_bpm(reserve_pct: Decimal, *, resting_bpm: int, max_bpm: Decimal) -> Decimal:
    """Give the heart rate at a share of the reserve, in b/min."""
    return resting_bpm + reserve_pct / PERCENT * (max_bpm - resting_bpm)


def reserve_pct(bpm: int, *, resting_bpm: int, max_bpm: Decimal) -> Decimal:
    """Give the share of the reserve that a heart rate is, in percent."""
    return (Decimal(bpm) - resting_bpm) / (max_bpm - resting_bpm) * PERCENT


def intensity(pct: Decimal) -> Intensity:
    """Name the band of a share of heart rate reserve, in percent.

    Source: ACSM, Garber 2011 Med Sci Sports Exerc 43:1334.
    """
    found: Intensity = "very_light"
    for name, low_pct, _ in _BANDS:
        if pct >= low_pct:
            found = name
    return found


def heart_rate_targets(
    *,
    resting_bpm: int | None,
    measured_max_bpm: int | None = None,
    age_years: int | None = None,
    care_groups: Collection[str] = (),
) -> HeartRateTargets | NoHeartRateTargets:
    """Give a client's heart-rate bands, or say why there are none.

    Args:
        resting_bpm: resting heart rate; None if not known.
        measured_max_bpm: highest heart rate measured in a hard effort; taken before any prediction.
        age_years: age, for a prediction where nothing was measured.
        care_groups: the client's.

    Raises:
        HeartRateError: for a figure that nobody has, or a maximum not above rest.
    """
    spared = next((reason for group, reason in _SPARED.items() if group in care_groups), None)
    if spared is not None:
        return NoHeartRateTargets(reason=spared)
    if resting_bpm is None:
        return NoHeartRateTargets(reason="The resting heart rate is not known.")
    if measured_max_bpm is not None:
        return _targets(resting_bpm, Decimal(measured_max_bpm), measured=True)
    if age_years is not None:
        return _targets(resting_bpm, predicted_max_bpm(age_years), measured=False)
    return NoHeartRateTargets(reason="Neither a measured maximum nor the age is known.")


def _targets(resting_bpm: int, max_bpm: Decimal, *, measured: bool) -> HeartRateTargets:
    if not RESTING_MIN_BPM <= resting_bpm < max_bpm <= HEART_RATE_MAX_BPM:
        raise HeartRateError(
            f"Give a resting heart rate of {RESTING_MIN_BPM} b/min or more and a maximum above it, at most "
            f"{HEART_RATE_MAX_BPM}: {resting_bpm} and {max_bpm:f} were given."
        )
    return HeartRateTargets(
        bands=tuple(
            HeartRateBand(
                intensity=name,
                low_pct=low_pct,
                high_pct=high_pct or int(PERCENT),
                low_bpm=_whole(target_bpm(Decimal(low_pct), resting_bpm=resting_bpm, max_bpm=max_bpm)),
                high_bpm=_whole(target_bpm(Decimal(high_pct or PERCENT), resting_bpm=resting_bpm, max_bpm=max_bpm)),
            )
            for name, low_pct, high_pct in _BANDS
        ),
        max_bpm=_whole(max_bpm),
        max_from="measured" if measured else "predicted",
        error_bpm=0 if measured else PREDICTED_MAX_ERROR_BPM,
        resting_bpm=resting_bpm,
    )


def _whole(bpm: Decimal) -> int:
    return int(bpm.to_integral_value(rounding=ROUND_HALF_EVEN))
