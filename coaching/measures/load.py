"""Loads in kilograms and pounds, exact.

A load is kept as it was entered (value and unit) and as kilograms. Pounds to kilograms is exact, because the
pound is defined by a finite decimal; kilograms to pounds is not, and is therefore only ever for display.
"""

from dataclasses import dataclass
from decimal import Context, Decimal, DecimalException, Inexact, InvalidOperation
from typing import Literal

from coaching.measures.constants import KG_PER_LB, MAX_ABS_LOAD

__all__ = ["KG_PER_LB", "Load", "LoadError", "LoadUnit", "entered_load", "kg_to_lb", "lb_to_kg"]

LoadUnit = Literal["kg", "lb"]

# The caller's decimal context must not decide whether 225 lb is exact.
_EXACT = Context(prec=60, traps=[Inexact, InvalidOperation])
_DISPLAY = Context(prec=28)


class LoadError(ValueError):
    """A load that cannot be taken as entered."""

    code = "invalid_load"


def lb_to_kg(value_lb: Decimal) -> Decimal:
    """Convert pounds to kilograms, exactly.

    Args:
        value_lb: Pounds; may be negative (assistance).

    Returns:
        Kilograms, without rounding.

    Raises:
        LoadError: The value is not a finite number, or has too many digits to be a load.

    Source: 1 lb = 0.45359237 kg exactly (1959 agreement; NIST SP 811).
    """
    try:
        return _EXACT.multiply(_finite(value_lb), KG_PER_LB)
    except DecimalException as fault:
        raise LoadError(f"{value_lb} lb has too many digits for a load; give at most a few decimals.") from fault


def kg_to_lb(value_kg: Decimal) -> Decimal:
    """Convert kilograms to pounds, to 28 significant digits (the quotient has no finite decimal form).

    Args:
        value_kg: Kilograms; may be negative (assistance).

    Returns:
        Pounds, for display only: never convert the result back.

    Raises:
        LoadError: The value is not a finite number.

    Source: 1 lb = 0.45359237 kg exactly (1959 agreement; NIST SP 811).
    """
    return _DISPLAY.divide(_finite(value_kg), KG_PER_LB)


@dataclass(frozen=True, slots=True)
class Load:
    """A load as it was entered.

    Attributes:
        value: The number as entered; negative for assistance.
        unit: `kg` or `lb`, as entered.

    Raises:
        LoadError: The unit is neither, the number is not finite, or it is too large to be a load.
    """

    value: Decimal
    unit: LoadUnit

    def __post_init__(self) -> None:
        if self.unit not in ("kg", "lb"):
            raise LoadError(f"The unit of a load is kg or lb, not {self.unit!r}.")
        if abs(_finite(self.value)) >= MAX_ABS_LOAD:
            raise LoadError(f"{self.value} {self.unit} is too large to be a load; check the number and the unit.")
        lb_to_kg(self.value)

    @property
    def kg(self) -> Decimal:
        """The load in kilograms, exactly."""
        return self.value if self.unit == "kg" else lb_to_kg(self.value)

    @property
    def lb(self) -> Decimal:
        """The load in pounds: as entered, or for display when it was entered in kilograms."""
        return self.value if self.unit == "lb" else kg_to_lb(self.value)


def entered_load(*, load_kg: Decimal | None, load_lb: Decimal | None) -> Load | None:
    """Read a load from the two fields in which it may be posted.

    Args:
        load_kg: Kilograms, or None when that field was left out.
        load_lb: Pounds, or None when that field was left out.

    Returns:
        The load as entered, or None when neither field was given.

    Raises:
        LoadError: Both fields were given, or the number is not a load.
    """
    if load_kg is not None and load_lb is not None:
        raise LoadError("Give the load either as load_kg or as load_lb, not as both.")
    if load_kg is not None:
        return Load(load_kg, "kg")
    return None if load_lb is None else Load(load_lb, "lb")


def _finite(value: Decimal) -> Decimal:
    if not value.is_finite():
        raise LoadError(f"A load must be a finite number, not {value}.")
    return value
