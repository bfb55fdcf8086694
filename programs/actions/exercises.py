"""The business's own exercises, and its own words for shared ones."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final

from coaching import registry
from coaching.actions.row_versions import Versions, bump
from coaching.refusals import Conflict, Fault, Invalid, NotFound
from programs.actions.exercise_sessions import rewrite_sessions_of
from programs.catalogue.entries import CatalogueError, ExerciseEntry, read_entry
from programs.catalogue.sense import comparable_name
from programs.models import Exercise, ExerciseOrigin
from programs.selectors.exercises import named_by

FIXED: Final = ("key", "measure", "load_basis")
"""What never changes of an exercise: logs and programs rest on it."""

_FIELDS: Final = tuple(ExerciseEntry.model_fields)
_KEY_CHARACTERS: Final = 60

# Sessions say nothing of these, nor do their minutes rest on them.
_UNSAID: Final = frozenset({"aliases", "equipment", "complexity"})
_COUNTED: Final = frozenset(
    {"primary_muscles", "secondary_muscles", "bodyweight_share", "loading", "measure", "restful_end"}
)


class InvalidExercise(Invalid):
    """An exercise that contradicts itself, or whose names stand for another; every fault with its place."""

    code = "invalid_exercise"


class MergedExercise(Conflict):
    """An exercise that was merged into another never changes again."""

    code = "merged_exercise"


def create_exercise(*, document: Mapping[str, Any]) -> Exercise:
    """Add an exercise of the business's own, checked as the shared ones are.

    Args:
        document: its fields, as the catalogue has them.

    Raises:
        InvalidExercise: with every fault at its place.
    """
    entry = _read(document)
    _check_names(entry)
    row, created = Exercise.objects.get_or_create(
        key=entry.key, defaults=_columns(entry) | {"origin": ExerciseOrigin.OWN}
    )
    if not created:
        raise InvalidExercise.at("#/key", _taken(entry.key, row.key), "taken")
    return row


def change_exercise(*, exercise: str, versions: Versions, changes: Mapping[str, Any], now: datetime) -> Exercise:
    """Change what the business says of an exercise; a shared one is its own from then on, and no more refreshed.

    Sessions to come and weekly figures follow.

    Args:
        exercise: id or key.
        versions: what `If-Match` admits.
        changes: the fields that change.
        now: the present instant.

    Raises:
        NotFound: no such exercise.
        MergedExercise: it was merged into another.
        PreconditionFailed: it was changed since.
        InvalidExercise: with every fault at its place.
    """
    row = Exercise.objects.select_for_update(of=("self",), no_key=True).filter(named_by([exercise])).first()
    if row is None:
        raise NotFound("There is no exercise with this id or key; GET /api/v1/exercises lists them.")
    check_in_use(row)
    before = exercise_document(row)
    _check_fixed(before, changes)
    entry = _read(before | dict(changes))
    _check_names(entry, row)
    columns = _columns(entry)
    shared = row.origin == ExerciseOrigin.SHARED
    bump(Exercise.objects.all(), row.id, versions, **columns, customised=row.customised or shared)
    changed = {name for name in _FIELDS if columns[name] != getattr(row, name)}
    row.refresh_from_db()
    if changed & _COUNTED:
        for follow in registry.on_exercises_changed:
            follow([row.id], now)
    if changed - _UNSAID:
        rewrite_sessions_of(row.key, now=now)
    return row


def check_in_use(row: Exercise) -> None:
    """Refuse an exercise that was merged into another.

    Raises:
        MergedExercise: naming that other one.
    """
    if row.merged_into is not None:
        raise MergedExercise(f"{row.name} was merged into {row.merged_into.key}; name or change that one.")


def exercise_document(row: Exercise) -> dict[str, Any]:
    """Return an exercise's fields as the catalogue has them."""
    return {name: getattr(row, name) for name in _FIELDS} | {"starts_at": row.starts_at or None}


def _read(document: Mapping[str, Any]) -> ExerciseEntry:
    try:
        entry = read_entry(document)
    except CatalogueError as error:
        faults = [Fault(_pointer(fault.field), "invalid_exercise", fault.message) for fault in error.faults]
        raise InvalidExercise(faults[0].detail, faults=faults) from None
    if len(entry.key) > _KEY_CHARACTERS:
        raise InvalidExercise.at("#/key", f"A key has at most {_KEY_CHARACTERS} characters; shorten it.")
    return entry


def _pointer(field: str) -> str:
    return "#" if field == "exercise" else f"#/{field.replace('.', '/')}"


def _columns(entry: ExerciseEntry) -> dict[str, Any]:
    columns = entry.model_dump(mode="json")
    numbers = {"bodyweight_share": entry.bodyweight_share, "repetition_s": entry.repetition_s}
    return columns | numbers | {"starts_at": columns["starts_at"] or ""}


def _check_fixed(before: Mapping[str, Any], changes: Mapping[str, Any]) -> None:
    faults = [
        Fault(
            f"#/{name}",
            "fixed",
            f"{name} never changes, since logs and programs rest on it; leave it out, or make another exercise.",
        )
        for name in FIXED
        if name in changes and changes[name] != before[name]
    ]
    if faults:
        raise InvalidExercise(faults[0].detail, faults=faults)


def _check_names(entry: ExerciseEntry, row: Exercise | None = None) -> None:
    others = Exercise.objects.filter(merged_into__isnull=True)
    if row is not None:
        others = others.exclude(id=row.id)
    claims: dict[str, str] = {}
    for key, name, aliases in others.order_by("key").values_list("key", "name", "aliases"):
        for text in (key, name, *aliases):
            claims.setdefault(comparable_name(text), key)
    faults = [
        Fault(pointer, "taken", _taken(text, claims[folded]))
        for pointer, text in _names(entry)
        if (folded := comparable_name(text)) in claims
    ]
    if faults:
        raise InvalidExercise(faults[0].detail, faults=faults)


def _names(entry: ExerciseEntry) -> Iterator[tuple[str, str]]:
    yield "#/key", entry.key
    yield "#/name", entry.name
    for index, alias in enumerate(entry.aliases):
        yield f"#/aliases/{index}", alias


def _taken(text: str, key: str) -> str:
    return f"{text!r} stands for {key} already; choose another, or change {key}."
