"""Steps that can be loaded: the next one up, a share less, and what lies just below a figure."""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Final

from logs.analysis.load_advice_facts import AdvisedSlot, LoadAdvicePolicy
from logs.analysis.load_advice_outcomes import LiftOutcome
from programs.prescription.constants import PERCENT
from programs.prescription.loadable import default_step, loadable
from programs.prescription.prescribed_loads import AbsoluteLoad

_TENTH: Final = Decimal("0.1")
"""Percentages are told to a tenth. Practice."""


def step_of(slot: AdvisedSlot) -> Decimal | None:
    """Give the step in which a slot is loaded, in the client's unit; None where it is not loaded in steps."""
    usual = default_step(slot.exercise.loading, slot.grid.unit)
    return usual if usual is None or slot.grid.step is None else slot.grid.step


def loadable_below(slot: AdvisedSlot, value: Decimal | Fraction) -> Decimal | None:
    """Round a load down to what can be loaded.

    Args:
        slot: the slot.
        value: the load, in the client's unit and the exercise's basis.

    Returns:
        The load; None where there is none so light, or where the slot is not loaded in steps.

    Source: practice: down, never up.
    """
    step = step_of(slot)
    if step is None:
        return None
    steps = Fraction(value) / Fraction(step)
    floored = Decimal(steps.numerator // steps.denominator) * step
    if floored <= 0 and slot.exercise.load_basis != "added":
        return None
    fits = loadable(AbsoluteLoad(value=floored, unit=slot.grid.unit), slot.exercise.loading, slot.grid.unit, step)
    return None if fits.load is None else fits.load.value


def rise(slot: AdvisedSlot, before: Decimal, after: Decimal) -> Fraction | None:
    """Give a change as a share of the load moved, bodyweight included; None where that is not above zero or unknown."""
    if slot.grid.base is None or before + slot.grid.base <= 0:
        return None
    return Fraction(after - before) / Fraction(before + slot.grid.base)


def change_between(
    slot: AdvisedSlot, last: Decimal | None, load: Decimal | None
) -> tuple[Decimal | None, Decimal | None]:
    """Give the change from one load to another, and its percentage of the load moved, to a tenth.

    Args:
        slot: the slot.
        last: the load last lifted; None when unknown.
        load: the load advised; None when there is none.

    Returns:
        Change in the client's unit, and percentage; each None where it is not known, the percentage also where care
        hides the bodyweight moved.
    """
    if last is None or load is None:
        return None, None
    risen = rise(slot, last, load)
    if risen is None or slot.grid.base_hidden:
        return load - last, None
    return load - last, (PERCENT * risen.numerator / risen.denominator).quantize(_TENTH, ROUND_HALF_EVEN)


def next_load_up(slot: AdvisedSlot, last: Decimal, policy: LoadAdvicePolicy) -> Decimal | None:
    """Find the smallest step up of at least the least rise; a smaller one where that would be over the most.

    Args:
        slot: the slot; its bodyweight moved is known.
        last: the load last lifted, in the client's unit.
        policy: least and most rise.

    Returns:
        The load; None where the slot is not loaded in steps.

    Source: practice; the most rise is that of ACSM 2009.
    """
    step = step_of(slot)
    if step is None:
        return None
    first = (last / step).to_integral_value(ROUND_FLOOR) * step + step
    moved = last + (slot.grid.base or Decimal(0))
    if moved <= 0:
        return _lightest_from(slot, first)
    least = ((last + moved * policy.least_rise) / step).to_integral_value(ROUND_CEILING) * step
    wanted = max(first, least)
    if wanted - last > moved * policy.most_rise:
        wanted = first
    return _lightest_from(slot, wanted)


def _lightest_from(slot: AdvisedSlot, value: Decimal) -> Decimal:
    """Where even the empty bar is heavier, that is the next load."""
    found = loadable_below(slot, value)
    if found is not None:
        return found
    step = step_of(slot) or Decimal(1)
    while (found := loadable_below(slot, value)) is None:
        value += step
    return found


def lighter(slot: AdvisedSlot, last: Decimal, cut: Decimal | Fraction) -> Decimal | None:
    """Take a share off the load moved, rounded down; None where nothing so light can be loaded.

    Args:
        slot: the slot; its bodyweight moved is known.
        last: the load last lifted, in the client's unit.
        cut: the share to take off.

    Source: practice. A load on top of bodyweight goes down to bodyweight, never to help that was not used before.
    """
    base = Fraction(slot.grid.base or 0)
    wanted = (Fraction(last) + base) * (1 - Fraction(cut)) - base
    if slot.exercise.load_basis == "added" and last >= 0:
        wanted = max(wanted, Fraction(0))
    found = loadable_below(slot, wanted)
    return None if found is None or found >= last else found


def lightest(slot: AdvisedSlot) -> Decimal | None:
    """Give the lightest load there is; of a load on top of bodyweight none added, None without steps."""
    step = step_of(slot)
    if step is None:
        return None
    return Decimal(0) if slot.exercise.load_basis == "added" else _lightest_from(slot, step)


def same_load(slot: AdvisedSlot, last: LiftOutcome) -> Decimal | None:
    """Give the load last lifted as it can be loaded again.

    What was lifted at the same or the usual place, entered in the client's unit, was loaded there; what else is
    rounded down.

    Args:
        slot: the slot.
        last: the outcome whose load is kept.
    """
    if last.load is None:
        return None
    if slot.place in ("", last.place) and not last.converted:
        return last.load
    return loadable_below(slot, last.load)
