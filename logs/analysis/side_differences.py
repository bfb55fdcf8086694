"""The difference between left and right, with what it can and can't mean."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from logs.analysis.constants import PER_CENT
from logs.analysis.detectable_changes import minimal_detectable_change

NoDifference = Literal["known", "one_side_only", "no_level"]

NO_DIFFERENCES: Final[tuple[NoDifference, ...]] = ("known", "one_side_only", "no_level")
"""Why there is no difference between sides. Practice."""
SIDE_CAUTION: Final = (
    "A difference between sides that is within noise means nothing; many healthy people have one, and it predicts no "
    "injury."
)
"""Said with every difference. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideDifference:
    """The left against the right of one lift, over the weeks that have both.

    Attributes:
        n: Weeks with a value of each side.
        left_kg: Mean weekly value of the left in them; None without any.
        right_kg: Of the right.
        difference_kg: Mean of left less right.
        difference_pct: That, in percent of the mean of both; None with the reason.
        noise_pct: The least mean difference of so many weeks that is told from noise, 95 %.
        exceeds_noise: Whether the difference is larger; None where it has no percent.
        reason: `known`, or why there is none.
        sentence: All that in words.
        caution: What it can't mean.
    """

    n: int
    left_kg: Decimal | None
    right_kg: Decimal | None
    difference_kg: Decimal | None
    difference_pct: float | None
    noise_pct: float | None
    exceeds_noise: bool | None
    reason: NoDifference
    sentence: str
    caution: str = SIDE_CAUTION


def side_difference(
    left: Mapping[date, Decimal], right: Mapping[date, Decimal], body_kg: Decimal | None = Decimal(0)
) -> SideDifference:
    """Hold the left against the right.

    Args:
        left: The left's weekly values by first day of the week, deload and absent weeks left out.
        right: The right's.
        body_kg: The bodyweight moved beside added loads, which percents count in; 0 for other loads, None unknown.

    Returns:
        The mean difference over the weeks that have both, with n and the noise of such a mean.

    Source: practice; the noise by the typical error of Grgic et al. 2020, independent week by week.
    """
    weeks = sorted(left.keys() & right.keys())
    n = len(weeks)
    if not n:
        sentence = "No week has a value of both sides."
        return SideDifference(
            n=0,
            left_kg=None,
            right_kg=None,
            difference_kg=None,
            difference_pct=None,
            noise_pct=None,
            exceeds_noise=None,
            reason="one_side_only",
            sentence=sentence,
        )
    left_kg, right_kg = (sum((side[week] for week in weeks), Decimal(0)) / n for side in (left, right))
    level = None if body_kg is None else (left_kg + right_kg) / 2 + body_kg
    known = level is not None and level > 0
    pct = float((left_kg - right_kg) / level * PER_CENT) if level is not None and known else None
    noise = minimal_detectable_change(sessions=n)
    return SideDifference(
        n=n,
        left_kg=left_kg,
        right_kg=right_kg,
        difference_kg=left_kg - right_kg,
        difference_pct=pct,
        noise_pct=noise,
        exceeds_noise=None if pct is None else abs(pct) > noise,
        reason="known" if known else "no_level",
        sentence=_sentence(pct, n, noise),
    )


def _sentence(pct: float | None, n: int, noise: float) -> str:
    weeks = f"{n} week" + ("" if n == 1 else "s")
    if pct is None:
        return f"Over {weeks} both sides have values, but percents can't be told without a bodyweight."
    side = f"The {'left' if pct > 0 else 'right'} is {abs(pct):.1f} % stronger" if pct else "Both sides are equal"
    noisy = "more than noise" if abs(pct) > noise else "within noise"
    return f"{side} over {weeks}: {noisy}, which reaches to {noise:.1f} % with so many."
