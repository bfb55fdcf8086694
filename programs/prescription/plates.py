"""Which plates go on each side of a bar, heaviest first.

What the plates cannot make is left off, never put on: the nearest load below, and it is said by how much.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from programs.prescription.constants import BARS_KG, BARS_LB, PLATES_KG, PLATES_LB
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import LoadUnit

_SIDES: Final = 2
"""Sides of a bar, loaded alike. Practice."""
_BARS: Final[dict[LoadUnit, tuple[Decimal, ...]]] = {"kg": BARS_KG, "lb": BARS_LB}
"""Usual bars by unit. Practice."""
_PLATES: Final[dict[LoadUnit, tuple[Decimal, ...]]] = {"kg": PLATES_KG, "lb": PLATES_LB}
"""Usual plates by unit, heaviest first. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarLoading:
    """A bar and the plates on each of its sides, every weight in ``unit``.

    ``per_side`` is heaviest first, empty for the bare bar. ``made`` is what bar and plates weigh together, and
    ``left_over`` what of the load asked they cannot make.
    """

    unit: LoadUnit
    bar: Decimal
    per_side: tuple[Decimal, ...]
    made: Decimal
    left_over: Decimal


def load_bar(load: Decimal, *, bar: Decimal, unit: LoadUnit) -> BarLoading:
    """Load a bar with the usual plates, as near below a load as they go.

    Args:
        load: what bar and plates are to weigh together, in ``unit``.
        bar: what the bar weighs, in ``unit``.
        unit: the unit of the plates.

    Raises:
        ValueError: when the load is less than the bar.

    Source: practice: each side takes the heaviest plate that still fits, until none does.
    """
    if load < bar:
        raise ValueError(f"{load:f} {unit} is less than the empty bar of {bar:f} {unit}.")
    side = (load - bar) / _SIDES
    plates: list[Decimal] = []
    for plate in _PLATES[unit]:
        fitting = int(side // plate)
        plates += [plate] * fitting
        side -= plate * fitting
    left_over = side * _SIDES
    return BarLoading(unit=unit, bar=bar, per_side=tuple(plates), made=load - left_over, left_over=left_over)


def bar_loadings(load: Decimal, unit: LoadUnit) -> tuple[BarLoading, ...]:
    """Load each usual bar that is no heavier than a load, the usual one first; none where even the light one is."""
    return tuple(load_bar(load, bar=bar, unit=unit) for bar in _BARS[unit] if bar <= load)


def takes_plates(facts: ExerciseFacts) -> bool:
    """Say whether a straight bar with plates on both sides is loaded: other bars weigh what they weigh."""
    return (
        facts.loading == "barbell"
        and facts.load_basis == "total"
        and "barbell" in facts.equipment
        and "landmine" not in facts.equipment
    )
