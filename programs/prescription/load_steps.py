"""Steps of a written load: by an amount, exact; by a percentage, rounded down to what can be loaded."""

from dataclasses import replace
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from programs.prescription.constants import PERCENT
from programs.prescription.loadable import loadable
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.progression_rules import LoadChange
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import LoadUnit

_UNKNOWN_STEP: Final[dict[LoadUnit, Decimal]] = {"kg": Decimal("2.5"), "lb": Decimal(5)}
"""Step of a load whose exercise is not known, by unit. Practice."""

_UNSTEPPED: Final = Decimal("0.1")
"""Loads of what is not loaded in steps are given to a tenth. Practice."""


def changed_load(load: AbsoluteLoad, change: LoadChange, steps: int, facts: ExerciseFacts | None) -> AbsoluteLoad:
    """Give a load after so many steps; an amount in the other unit leaves it alone."""
    if change.pct is not None:
        return scaled_load(load, change.pct * steps, facts)
    if change.amount is None or change.unit != load.unit:
        return load
    return replace(load, value=load.value + change.amount * steps)


def scaled_load(load: AbsoluteLoad, pct: Decimal, facts: ExerciseFacts | None) -> AbsoluteLoad:
    """Change a load by a percentage, rounded down to what can be loaded; never below what stood where nothing fits."""
    asked = replace(load, value=load.value * (PERCENT + pct) / PERCENT)
    if facts is None:
        return _floored(asked, _UNKNOWN_STEP[load.unit])
    fits = loadable(asked, facts.loading, load.unit)
    if fits.load is None:
        return load
    return fits.load if fits.step is not None else _floored(fits.load, _UNSTEPPED)


def _floored(load: AbsoluteLoad, step: Decimal) -> AbsoluteLoad:
    return replace(load, value=(load.value / step).to_integral_value(rounding=ROUND_FLOOR) * step)
