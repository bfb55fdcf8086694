"""The business's exercises: the catalogue, and what the computations need to know of each."""

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from typing import Any, cast
from uuid import UUID

from django.db.models import CharField, F, Func, Q, QuerySet, Value
from django.db.models.lookups import IContains

from coaching.refusals import NotFound
from programs.models import Exercise
from programs.prescription.phase_words import PhaseWords
from programs.prescription.structure import ExerciseFacts

_FACTS = (
    "id",
    "key",
    "name",
    "pattern",
    "starts_at",
    "restful_end",
    "rests_muscles",
    "primary_muscles",
    "secondary_muscles",
    "laterality",
    "measure",
    "phase_words",
    "station",
    "equipment",
    "load_basis",
    "loading",
    "bodyweight_share",
    "repetition_s",
    "complexity",
)
_MERGED_FACTS = tuple(f"merged_into__{name}" for name in _FACTS)


def list_exercises(*, pattern: str = "", muscle: str = "", equipment: str = "", search: str = "") -> QuerySet[Exercise]:
    """Return the exercises that fit every filter given.

    Args:
        pattern: a movement pattern.
        muscle: a primary or secondary muscle.
        equipment: a thing that the exercise needs.
        search: words of which each must stand in the name, an alias or the key.
    """
    wanted = Q(merged_into__isnull=True)
    if pattern:
        wanted &= Q(pattern=pattern)
    if muscle:
        wanted &= Q(primary_muscles__contains=[muscle]) | Q(secondary_muscles__contains=[muscle])
    if equipment:
        wanted &= Q(equipment__contains=[equipment])
    rows = Exercise.objects.filter(wanted)
    for word in search.replace("-", " ").split():
        rows = rows.filter(IContains(_all_names(), word))
    return rows


def get_exercise(reference: str) -> Exercise:
    """Return an exercise by its id or key; one that was merged answers with what it was merged into.

    Raises:
        NotFound: the business has no such exercise.
    """
    found = Exercise.objects.filter(named_by([reference])).select_related("merged_into").first()
    if found is None:
        raise NotFound("There is no exercise with this id or key; GET /api/v1/exercises lists them.")
    return found.merged_into or found


def resolve_exercises(references: Collection[str]) -> dict[str, UUID]:
    """Return the id of each exercise named by id or key, merges followed, in one query; unknown ones are left out."""
    rows: Iterable[tuple[UUID, str, UUID | None]] = Exercise.objects.filter(named_by(references)).values_list(
        "id", "key", "merged_into_id"
    )
    by_name: dict[str, UUID] = {}
    for exercise_id, key, merged_into_id in rows:
        by_name[key] = by_name[str(exercise_id)] = exercise_id if merged_into_id is None else merged_into_id
    return {reference: by_name[reference.lower()] for reference in references if reference.lower() in by_name}


def exercise_facts(references: Collection[str]) -> dict[str, ExerciseFacts]:
    """Return what is known of each exercise named by id or key, by the name given, in one query.

    Unknown names are left out.
    """
    return {name: facts for name, (_id, facts) in exercise_facts_with_ids(references).items()}


def exercise_facts_with_ids(references: Collection[str]) -> dict[str, tuple[UUID, ExerciseFacts]]:
    """Return id and facts of each exercise named by id or key, merges followed, by the name given, in one query."""
    by_name: dict[str, tuple[UUID, ExerciseFacts]] = {}
    for row in Exercise.objects.filter(named_by(references)).values(*_FACTS, *_MERGED_FACTS):
        own = row if row["merged_into__id"] is None else {name: row[f"merged_into__{name}"] for name in _FACTS}
        by_name[row["key"]] = by_name[str(row["id"])] = (cast("UUID", own["id"]), _facts(own))
    return {reference: by_name[reference.lower()] for reference in references if reference.lower() in by_name}


def catalogue_facts() -> list[ExerciseFacts]:
    """Return what is known of every exercise that is in use, in the order of their keys."""
    return [_facts(row) for row in Exercise.objects.filter(merged_into__isnull=True).order_by("key").values(*_FACTS)]


def list_exercise_keys() -> list[str]:
    """Return every key, for naming near ones beside an unknown one."""
    return list(Exercise.objects.filter(merged_into__isnull=True).order_by("key").values_list("key", flat=True))


def named_by(references: Collection[str]) -> Q:
    """Return the filter of the exercises named by id or key."""
    ids = [found for found in map(_as_id, references) if found is not None]
    # No text of the database holds a NUL, nor may a question to it.
    return Q(id__in=ids) | Q(key__in=[reference.lower() for reference in references if "\x00" not in reference])


def _as_id(reference: str) -> UUID | None:
    try:
        found = UUID(reference)
    except ValueError:
        return None
    # Only the canonical spelling: a bare hexadecimal key must not be read as an id.
    return found if str(found) == reference.lower() else None


def _all_names() -> Func:
    aliases = Func(F("aliases"), Value(" | "), function="array_to_string", output_field=CharField())
    return Func(Value(" "), F("name"), F("key"), aliases, function="concat_ws", output_field=CharField())


def _facts(row: Mapping[str, Any]) -> ExerciseFacts:
    words = row["phase_words"]
    return ExerciseFacts(
        key=row["key"],
        name=row["name"],
        pattern=row["pattern"],
        starts_at=row["starts_at"] or None,
        restful_end=row["restful_end"],
        rests_muscles=tuple(row["rests_muscles"]),
        primary_muscles=tuple(row["primary_muscles"]),
        secondary_muscles=tuple(row["secondary_muscles"]),
        laterality=row["laterality"],
        measure=row["measure"],
        phase_words=None if words is None else PhaseWords(**words),
        station=row["station"],
        equipment=tuple(row["equipment"]),
        load_basis=row["load_basis"],
        loading=row["loading"],
        bodyweight_share=Decimal(row["bodyweight_share"]),
        repetition_s=Decimal(row["repetition_s"]),
        complexity=row["complexity"],
    )
