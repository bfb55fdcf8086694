"""The steps of loads at a place, in a client's unit."""

from collections.abc import Mapping
from decimal import Decimal

from coaching.measures.load import kg_to_lb, lb_to_kg
from programs.prescription.vocabulary import LoadUnit


def steps_in_unit(load_steps: Mapping[str, Mapping[str, str]], unit: LoadUnit) -> dict[str, Decimal]:
    """Return a place's steps in a unit, by how an exercise is loaded.

    Args:
        load_steps: as the place keeps them.
        unit: the unit.
    """
    return {loading: _step(step, unit) for loading, step in load_steps.items()}


def _step(step: Mapping[str, str], unit: LoadUnit) -> Decimal:
    if f"step_{unit}" in step:
        return Decimal(step[f"step_{unit}"])
    return lb_to_kg(Decimal(step["step_lb"])) if unit == "kg" else kg_to_lb(Decimal(step["step_kg"]))
