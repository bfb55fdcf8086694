"""Rounding a load down to what can be loaded. Down, never up: the safe side, and it is said.

Steps are practice, and a business, a place or a client may have others.
"""

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from coaching.measures.load import kg_to_lb
from programs.prescription.constants import (
    BAR_KG,
    BAR_LB,
    STEP_DUMBBELL_KG,
    STEP_DUMBBELL_LB,
    STEP_KETTLEBELL_KG,
    STEP_KETTLEBELL_LB,
    STEP_PLATES_KG,
    STEP_PLATES_LB,
    STEP_STACK_KG,
    STEP_STACK_LB,
)
from programs.prescription.prescribed_loads import AbsoluteLoad
from programs.prescription.vocabulary import Loading, LoadUnit

_PLATES: Final = {"kg": STEP_PLATES_KG, "lb": STEP_PLATES_LB}
"""Step of plates by unit. Practice."""
_DUMBBELLS: Final = {"kg": STEP_DUMBBELL_KG, "lb": STEP_DUMBBELL_LB}
"""Step of dumbbells by unit. Practice."""
_KETTLEBELLS: Final = {"kg": STEP_KETTLEBELL_KG, "lb": STEP_KETTLEBELL_LB}
"""Step of kettlebells by unit. Practice."""
_STACK: Final = {"kg": STEP_STACK_KG, "lb": STEP_STACK_LB}
"""Step of a stack by unit. Practice."""

_STEPS: Final[dict[Loading, dict[str, Decimal]]] = {
    "barbell": _PLATES,
    "plate_machine": _PLATES,
    "bodyweight": _PLATES,
    "dumbbell": _DUMBBELLS,
    "dumbbell_pair": _DUMBBELLS,
    "kettlebell": _KETTLEBELLS,
    "kettlebell_pair": _KETTLEBELLS,
    "stack": _STACK,
    "sled": _STACK,
    "sandbag": _STACK,
}
"""Step by the way an exercise is loaded; the others are not loaded in steps. Practice."""

_LEAST: Final[dict[Loading, dict[str, Decimal]]] = {"barbell": {"kg": BAR_KG, "lb": BAR_LB}}
"""Least load by the way an exercise is loaded. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadableLoad:
    """What can be loaded: ``load`` in the client's unit, or None with a ``reason``.

    ``step`` is the step in that unit, None where the exercise is not loaded in steps. ``rounded`` says whether
    anything was taken off.
    """

    load: AbsoluteLoad | None
    step: Decimal | None
    rounded: bool
    reason: str | None = None


def default_step(loading: Loading, unit: LoadUnit) -> Decimal | None:
    """Give the usual step of an exercise's loading in a unit; None where it is not loaded in steps."""
    return _STEPS.get(loading, {}).get(unit)


def loadable(asked: AbsoluteLoad, loading: Loading, unit: LoadUnit = "kg", step: Decimal | None = None) -> LoadableLoad:
    """Round a load down to a multiple of the step, in the client's unit.

    A negative load is assistance, and rounding it down gives more of it.

    Args:
        asked: the load wanted, in its own unit and the exercise's own basis.
        loading: how the exercise is loaded.
        unit: the unit that the client loads in.
        step: the step that the client has, in ``unit``; the usual one if None.

    Raises:
        ValueError: when the step is not above zero.
    """
    if step is not None and step <= 0:
        raise ValueError(f"Give a step above zero, not {step}.")
    value = _in_unit(asked, unit)
    used_step = step if step is not None else default_step(loading, unit)
    if used_step is None:
        return LoadableLoad(load=AbsoluteLoad(value=value, unit=unit), step=None, rounded=False)
    floored = (value / used_step).to_integral_value(rounding=ROUND_FLOOR) * used_step
    least = _LEAST.get(loading, {}).get(unit)
    if least is not None and floored < least:
        return LoadableLoad(
            load=None,
            step=used_step,
            rounded=False,
            reason=f"{value:f} {unit} is less than the empty bar of {least:f} {unit}.",
        )
    return LoadableLoad(load=AbsoluteLoad(value=floored, unit=unit), step=used_step, rounded=floored != value)


def _in_unit(load: AbsoluteLoad, unit: LoadUnit) -> Decimal:
    if load.unit == unit:
        return load.value
    return load.load_kg if unit == "kg" else kg_to_lb(load.value)
