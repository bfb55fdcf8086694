"""What planned sessions need and the places that they are planned for do not have."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import orjson

from programs.prescription.client_fit import lacking_equipment
from programs.selectors.exercises import exercise_facts


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceWarning:
    """An exercise of a session that needs what its place does not have."""

    exercise: str
    exercise_name: str
    missing_equipment: tuple[str, ...]
    detail: str


def list_place_warnings(rows: Sequence[Mapping[str, Any]]) -> dict[UUID, list[PlaceWarning]]:
    """Return, by session, what is missing at its place; in one query, and none where no session has a place.

    Args:
        rows: sessions as `programs.selectors.planned_sessions.shown` returns them.
    """
    named = {
        row["id"]: list(dict.fromkeys(exercises_prescribed(orjson.loads(row["prescribed_json"]))))
        for row in rows
        if row["place_id"] is not None
    }
    if not named:
        return {}
    facts = exercise_facts({key for keys in named.values() for key in keys})
    return {
        row["id"]: [
            _warning(facts[key].key, facts[key].name, missing, row["place__name"])
            for key in named[row["id"]]
            if key in facts and (missing := lacking_equipment(facts[key], row["place__equipment"]))
        ]
        for row in rows
        if row["id"] in named
    }


def exercises_prescribed(prescribed: Mapping[str, Any]) -> Iterator[str]:
    """Give the exercises of a session as it is written out, in order."""
    for block in prescribed.get("blocks", ()):
        if block.get("entry"):
            yield block["entry"]["exercise"]
        for slot in block["slots"]:
            yield slot["exercise"]


def _warning(key: str, name: str, missing: tuple[str, ...], place: str) -> PlaceWarning:
    things = ", ".join(thing.replace("_", " ") for thing in missing)
    return PlaceWarning(
        exercise=key, exercise_name=name, missing_equipment=missing, detail=f"{name} needs {things}; {place} has none."
    )
