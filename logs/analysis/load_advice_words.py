"""Loads and outcomes in the words of a sentence of advice."""

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Final

from logs.analysis.load_advice_facts import AdvisedSlot, SlotTarget
from logs.analysis.load_advice_outcomes import LiftOutcome

_SHOWN: Final = Decimal("0.01")
_TENTH: Final = Decimal("0.1")
_WHOLE: Final = Decimal(100)


def number(value: Decimal) -> str:
    """Write a number to two places at most, without noughts at its end."""
    text = format(value.quantize(_SHOWN, ROUND_HALF_EVEN), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def pct(value: Fraction | Decimal) -> str:
    """Write a share as a percentage to a tenth."""
    exact = Fraction(value) * 100
    return f"{number((Decimal(exact.numerator) / exact.denominator).quantize(_TENTH, ROUND_HALF_EVEN))} %"


def fall_words(slot: AdvisedSlot, risen: Fraction | None) -> str:
    """Write a fall: ``, 6.3 % less``; nothing where it is unknown or care hides what it is a percentage of."""
    return "" if risen is None or slot.grid.base_hidden else f", {pct(-risen)} less"


def rise_words(slot: AdvisedSlot, risen: Fraction | None) -> str:
    """Write a rise: ``, 3.1 % more``; nothing where it is unknown or care hides what it is a percentage of."""
    return "" if risen is None or slot.grid.base_hidden else f", {pct(risen)} more"


def load_words(slot: AdvisedSlot, value: Decimal) -> str:
    """Write a load as it is loaded: ``82.5 kg``, ``24 kg in each hand``, ``bodyweight + 5 kg``."""
    figure = f"{number(abs(value))} {slot.grid.unit}"
    match slot.exercise.load_basis:
        case "each_hand" if slot.exercise.loading.endswith("_pair"):
            return f"{figure} in each hand"
        case "added" if not value:
            return "bodyweight"
        case "added":
            return f"{figure} of help" if value < 0 else f"bodyweight + {figure}"
        case "stack_label":
            return f"the stack at {figure}"
        case _:
            return figure


def outcome_words(slot: AdvisedSlot, outcome: LiftOutcome) -> str:
    """Write what was done: ``8, 8, 7 at 80 kg on 2031-03-04``."""
    reps = ", ".join(map(str, outcome.reps)) or "nothing"
    load = "" if outcome.load is None else f" at {load_words(slot, outcome.load)}"
    return f"{reps}{load} on {outcome.local_date}"


def outcomes_words(slot: AdvisedSlot, outcomes: Sequence[LiftOutcome]) -> str:
    """Write what was done, oldest first."""
    return " and ".join(outcome_words(slot, one) for one in reversed(outcomes))


def range_words(target: SlotTarget) -> str:
    """Write what was asked: ``6 to 8``, ``5``, ``at least 5``."""
    if target.to_limit:
        return f"at least {target.reps_low}"
    if target.reps_high == target.reps_low:
        return str(target.reps_low)
    return f"{target.reps_low} to {target.reps_high}"


def effort_words(reserve: Decimal | None) -> str:
    """Write an effort asked: `` with 2 in reserve``; empty where none is."""
    return "" if reserve is None else f" with {number(reserve)} in reserve"
