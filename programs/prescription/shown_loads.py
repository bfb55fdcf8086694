"""A resolved load as a client's document has it, and back."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from coaching.measures.load import kg_to_lb
from programs.prescription.loads import ResolvedLoad
from programs.prescription.prescribed_loads import AbsoluteLoad

_SHOWN: Final = Decimal("0.01")


def shown_load(resolved: ResolvedLoad) -> dict[str, Any]:
    """Write a resolved load as a set group of the document has it."""
    load = resolved.load
    pounds = None if load is None else load.value if load.unit == "lb" else kg_to_lb(load.value).quantize(_SHOWN)
    return {
        "load_status": resolved.status,
        "load_kg": _text(resolved.load_kg),
        "load_lb": _text(pounds),
        "load_unit": None if load is None else load.unit,
        "resolved_from": resolved.from_what,
        "suggestion": resolved.suggestion,
    }


def load_shown(line: Mapping[str, Any]) -> AbsoluteLoad | None:
    """Read the load that `shown_load` has written into a set group; None where it has no figure."""
    if line.get("load_unit") == "lb":
        return AbsoluteLoad(value=Decimal(line["load_lb"]), unit="lb")
    return None if line.get("load_kg") is None else AbsoluteLoad(value=Decimal(line["load_kg"]))


def _text(value: Decimal | None) -> str | None:
    return None if value is None else format(value.normalize(), "f")
