"""The load of a set as a card says it: in the client's unit, with the plates that make it."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any, Final

from programs.documents.card_words import plain
from programs.prescription.plates import BarLoading, bar_loadings, takes_plates
from programs.prescription.structure import ExerciseFacts
from programs.prescription.vocabulary import Loading, LoadUnit

_SHOWN: Final = Decimal("0.01")
_UNREMARKABLE: Final = frozenset({"by_effort", "bodyweight", "band"})
_AS_WRITTEN: Final = "As written."
_UNLOADED: Final[Mapping[Loading, str]] = {"bodyweight": "bodyweight", "none": "", "machine_monitor": ""}
_WITHOUT_FIGURE: Final[Mapping[str, str]] = {
    "by_effort": "load by effort",
    "bodyweight": "bodyweight",
    "on_the_day": "found on the day",
    "needs_reference": "load not known yet",
    "needs_effort": "load by effort",
    "not_loadable": "load by effort",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLoad:
    """A load in words.

    ``value`` is the figure in ``unit``, None where there is none. ``origin`` says from what it was resolved, or
    why there is no figure, empty where that adds nothing; ``plates`` has each usual bar that can carry it.
    """

    status: str
    words: str
    unit: LoadUnit
    value: Decimal | None = None
    origin: str = ""
    suggestion: str = ""
    plates: tuple[BarLoading, ...] = ()


def card_load(line: Mapping[str, Any], facts: ExerciseFacts | None, basis: str, unit: LoadUnit) -> CardLoad:
    """Say the load of a set.

    Args:
        line: the set as it was written out for the client, its load resolved.
        facts: the exercise, None where the catalogue has lost it.
        basis: what a load of the exercise means.
        unit: the unit that the client loads in.
    """
    status = line["load_status"]
    value = _in_unit(line, unit)
    origin = "" if status in _UNREMARKABLE else line["resolved_from"].removeprefix(_AS_WRITTEN).strip()
    return CardLoad(
        status=status,
        words=_words(line, value, facts, basis, unit),
        unit=unit,
        value=value,
        origin=origin,
        # What is suggested in other cases is for the coach to change.
        suggestion=(line["suggestion"] or "") if status == "needs_reference" else "",
        plates=_plates(value, unit, facts),
    )


def bar_words(loading: BarLoading) -> str:
    """Say what goes on a bar: ``20 kg bar, each side 25 + 5``."""
    bar = f"{plain(loading.bar)} {loading.unit} bar"
    said = f"{bar}, each side {' + '.join(map(plain, loading.per_side))}" if loading.per_side else f"{bar}, empty"
    return f"{said} (makes {plain(loading.made)}, nearest below)" if loading.left_over else said


def _words(
    line: Mapping[str, Any], value: Decimal | None, facts: ExerciseFacts | None, basis: str, unit: LoadUnit
) -> str:
    if value is None:
        return _without_figure(line, facts)
    if basis == "added" and not value:
        return "bodyweight"
    figure = f"{plain(abs(value))} {unit}"
    match basis:
        case "each_hand" if facts is not None and facts.loading.endswith("_pair"):
            return f"{figure} in each hand"
        case "added":
            return f"{figure} of help" if value < 0 else f"bodyweight + {figure}"
        case "stack_label":
            return f"stack at {figure}"
        case _:
            return figure


def _without_figure(line: Mapping[str, Any], facts: ExerciseFacts | None) -> str:
    if line["load_status"] == "band":
        return f"band: {line['load']['text']}"
    if line["load_status"] == "by_effort" and facts is not None and facts.loading in _UNLOADED:
        return _UNLOADED[facts.loading]
    return _WITHOUT_FIGURE[line["load_status"]]


def _in_unit(line: Mapping[str, Any], unit: LoadUnit) -> Decimal | None:
    text = line[f"load_{unit}"]
    if text is None:
        return None
    # Pounds in kilograms have eight decimals, which nobody can read or load.
    value = Decimal(text)
    return value if line["load_unit"] == unit else value.quantize(_SHOWN, rounding=ROUND_HALF_EVEN)


def _plates(value: Decimal | None, unit: LoadUnit, facts: ExerciseFacts | None) -> tuple[BarLoading, ...]:
    return () if value is None or facts is None or not takes_plates(facts) else bar_loadings(value, unit)
