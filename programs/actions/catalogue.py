"""Keep each business's copy of the shared exercise catalogue."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Final
from uuid import UUID

import orjson
from django.db import connection

from coaching import registry
from coaching.tenancy.models import new_id
from programs.actions.exercise_sessions import rewrite_sessions_of
from programs.catalogue.entries import ExerciseEntry, load_entries

_COLUMNS: Final = {
    "key": "text",
    "name": "text",
    "aliases": "text[]",
    "pattern": "text",
    "starts_at": "text",
    "restful_end": "text",
    "rests_muscles": "text[]",
    "primary_muscles": "text[]",
    "secondary_muscles": "text[]",
    "laterality": "text",
    "measure": "text",
    "phase_words": "jsonb",
    "station": "text",
    "equipment": "text[]",
    "load_basis": "text",
    "loading": "text",
    "bodyweight_share": "numeric",
    "repetition_s": "numeric",
    "complexity": "smallint",
}
"""What the shared catalogue says of an exercise, by column."""

_NAMES: Final = ", ".join(_COLUMNS)
_TYPED: Final = ", ".join(f"{name} {kind}" for name, kind in _COLUMNS.items())
_OLD: Final = ", ".join(f"x.{name}" for name in _COLUMNS)
_NEW: Final = ", ".join(f"EXCLUDED.{name}" for name in _COLUMNS)
_SET: Final = ", ".join(f"{name} = EXCLUDED.{name}" for name in _COLUMNS if name != "key")

# Rows that the business changed, or wrote itself under the same key, stay as they are.
_COPY: Final = (
    f"INSERT INTO programs_exercise AS x (id, business_id, origin, customised, row_version, {_NAMES}) "
    f"SELECT e.id, %s, 'shared', false, 1, {', '.join(f'e.{name}' for name in _COLUMNS)} "
    f"FROM ROWS FROM (unnest(%s::uuid[]), jsonb_to_recordset(%s::jsonb) AS ({_TYPED})) AS e (id, {_NAMES}) "
    f"ON CONFLICT (business_id, key) DO UPDATE SET {_SET}, row_version = x.row_version + 1 "
    f"WHERE x.origin = 'shared' AND NOT x.customised AND ({_OLD}) IS DISTINCT FROM ({_NEW}) "
    "RETURNING (xmax = 0), x.id, x.key"
)


@dataclass(frozen=True, slots=True)
class CatalogueRefresh:
    """What a refresh did: exercises added, brought up to date, and left as they were."""

    added: int
    updated: int
    unchanged: int


def copy_catalogue(business_id: UUID) -> None:
    """Give a new business its copy of the shared catalogue, in its own scope."""
    _copy(business_id, *_shared())


def refresh_catalogue(
    *, business_id: UUID, now: datetime, entries: Sequence[ExerciseEntry] | None = None
) -> CatalogueRefresh:
    """Add what is new in the shared catalogue and update what the business has not made its own.

    Running it again changes nothing. Exercises that left the shared catalogue stay: logs and programs name them.
    Weekly figures and the sessions to come follow what is told otherwise.

    Args:
        business_id: the business, whose scope must be open.
        now: the present instant.
        entries: what to copy; the shared catalogue unless said otherwise.
    """
    document, size = _shared() if entries is None else (_document(entries), len(entries))
    written = _copy(business_id, document, size)
    updated = {key: exercise_id for is_new, exercise_id, key in written if not is_new}
    if updated:
        for follow in registry.on_exercises_changed:
            follow(list(updated.values()), now)
        rewrite_sessions_of(*updated, now=now)
    return CatalogueRefresh(added=len(written) - len(updated), updated=len(updated), unchanged=size - len(written))


def _copy(business_id: UUID, document: str, size: int) -> list[tuple[bool, UUID, str]]:
    """Write what is new or otherwise; return, of each, whether it is new, its id and its key."""
    with connection.cursor() as cursor:
        cursor.execute(_COPY, [business_id, [new_id() for _ in range(size)], document])
        return list(cursor.fetchall())


@cache
def _shared() -> tuple[str, int]:
    entries = load_entries()
    return _document(entries), len(entries)


def _document(entries: Sequence[ExerciseEntry]) -> str:
    rows = [entry.model_dump(mode="json") for entry in entries]
    return orjson.dumps([row | {"starts_at": row["starts_at"] or ""} for row in rows]).decode()
