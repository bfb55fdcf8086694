"""A planned session's document with what is read off it, as COPY takes them on their way into planned sessions."""

from collections.abc import Mapping
from typing import Any, Final

import orjson

from programs.prescription.planned_sets import planned_sets

SNAPSHOT_COLUMNS: Final = (
    "prescribed jsonb, set_slots varchar[], set_figures smallint[], set_loads_kg numeric[], planned_reps int"
)
"""The columns of a row, as a temporary table has them; named as those of planned sessions."""


def snapshot_row(prescribed: Mapping[str, Any]) -> tuple[str, list[str], list[list[int | None]], list[Any], int]:
    """Write a document and what it asks of its sets, in the order of `SNAPSHOT_COLUMNS`."""
    asked = planned_sets(prescribed)
    return (
        orjson.dumps(prescribed).decode(),
        list(asked.slots),
        [list(figures) for figures in asked.figures],
        list(asked.loads_kg),
        asked.reps,
    )
