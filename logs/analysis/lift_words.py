"""Loads, repetitions and effort in words, for the sentences about lifts."""

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from coaching.measures.load import LoadUnit, kg_to_lb
from logs.analysis.strength import TempoClass
from programs.prescription.vocabulary import LoadBasis

_PLACES: Final = Decimal("0.01")
_POUND_PLACES: Final = Decimal("0.1")
_CLASS_WORDS: Final[dict[TempoClass, str]] = {
    "slow": " at a slow tempo",
    "paused": " with pauses",
    "slow_paused": " at a slow tempo with pauses",
    "assisted": " with a helped lift",
}


def number(value: Decimal) -> str:
    """Write a number to two places at most, without noughts at its end.

    Args:
        value: Any finite number.

    Returns:
        Such as `7`, `7.5` or `81.25`.

    Source: practice.
    """
    text = f"{value.quantize(_PLACES, ROUND_HALF_EVEN):f}".rstrip("0").rstrip(".")
    return "0" if text in {"", "-", "-0"} else text


def weight(value_kg: Decimal, unit: LoadUnit) -> str:
    """Write kilograms in the client's unit.

    Args:
        value_kg: Kilograms.
        unit: `kg` or `lb`; pounds to a tenth, for display only.

    Returns:
        Such as `82.5 kg` or `181.9 lb`.

    Source: practice.
    """
    if unit == "kg":
        return f"{number(value_kg)} kg"
    return f"{number(kg_to_lb(value_kg).quantize(_POUND_PLACES, ROUND_HALF_EVEN))} lb"


def load_words(load_kg: Decimal, basis: LoadBasis, unit: LoadUnit) -> str:
    """Write a load as its basis means it.

    Args:
        load_kg: The load in its basis; negative for assistance.
        basis: What it means.
        unit: The client's unit.

    Returns:
        Such as `80 kg`, `24 kg each hand`, `bodyweight + 10 kg` or `bodyweight with 20 kg of help`.

    Source: practice.
    """
    if basis == "added":
        if not load_kg:
            return "bodyweight"
        if load_kg < 0:
            return f"bodyweight with {weight(-load_kg, unit)} of help"
        return f"bodyweight + {weight(load_kg, unit)}"
    return weight(load_kg, unit) + {"each_hand": " each hand", "stack_label": " on the stack"}.get(basis, "")


def tempo_words(tempos: set[str], line_class: TempoClass) -> str:
    """Write the tempo of sets that are compared.

    Args:
        tempos: The tempos they were held to; an empty text where unknown.
        line_class: Their class.

    Returns:
        Such as ` at 41X1` where all share one, else the class in words; empty for the standard class.

    Source: practice.
    """
    if len(tempos) == 1 and "" not in tempos:
        return f" at {next(iter(tempos))}"
    return _CLASS_WORDS.get(line_class, "")


def repetitions_words(count: Decimal) -> str:
    """Write a number of repetitions, such as `1 repetition` or `7.5 repetitions`; source: practice."""
    return f"{number(count)} repetition" + ("" if count == 1 else "s")


def more_or_fewer(change: Decimal, thing: str = "") -> str:
    """Write a change, such as `2 more`, `1 repetition fewer` or `the same`.

    Args:
        change: By how much.
        thing: The thing counted, in the singular; empty for none.

    Returns:
        The words.

    Source: practice.
    """
    if not change:
        return f"the same {thing}s" if thing else "the same"
    size = abs(change)
    counted = f" {thing}" + ("" if size == 1 else "s") if thing else ""
    return f"{number(size)}{counted} {'more' if change > 0 else 'fewer'}"


def both_words(more_reps: Decimal, more_left: Decimal) -> str:
    """Write a change of repetitions and of reserve, and what they come to together.

    Args:
        more_reps: Repetitions more.
        more_left: More in reserve.

    Returns:
        Such as `1 repetition more with 1 fewer in reserve, the same in all`.

    Source: practice.
    """
    if not more_left:
        return more_or_fewer(more_reps, "repetition") if more_reps else "the same"
    if not more_reps:
        return f"the same repetitions with {more_or_fewer(more_left)} in reserve"
    together = more_or_fewer(more_reps + more_left)
    return f"{more_or_fewer(more_reps, 'repetition')} with {more_or_fewer(more_left)} in reserve, {together} in all"


def over_times(median: str, times: int) -> str:
    """Write what earlier times came to, such as `7 the last time` or a median of several; source: practice."""
    return f"{median} the last time" if times == 1 else f"a median of {median} over the last {times} times"


def with_interval(figures: Sequence[float | None], unit: str) -> str:
    """Write a slope with its interval.

    Args:
        figures: The slope, and the ends of its 90 % interval; None where one does not exist.
        unit: Its unit, such as `%` or `kg`.

    Returns:
        Such as `+0.54 % (90 % interval +0.34 to +0.88)`.

    Source: practice.
    """
    slope, low, high = figures
    words = f"{slope or 0.0:+.2f} {unit}"
    return words if low is None or high is None else f"{words} (90 % interval {low:+.2f} to {high:+.2f})"
