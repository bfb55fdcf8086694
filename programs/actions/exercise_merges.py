"""Merge an exercise that stands in the catalogue twice: every log, plan and reference counts for the one that stays."""

from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.contrib.postgres.fields import ArrayField
from django.db import connection
from django.db.models import CharField, F, Func, Value

from coaching import registry
from coaching.models import Client
from coaching.refusals import Conflict, Invalid, NotFound, UnknownObject
from coaching.tenancy.scope import current_business_id
from programs.actions.exercise_sessions import rewrite_sessions_of
from programs.actions.exercises import check_in_use
from programs.catalogue.sense import comparable_name
from programs.models import Exercise, ExerciseOrigin
from programs.selectors.exercises import named_by

# One that both have of a kind and day stays with each: neither is lost.
_REFERENCES: Final = """
UPDATE programs_referenceload r SET exercise_id = %(into)s, row_version = r.row_version + 1
WHERE r.business_id = %(business)s AND r.exercise_id = %(merged)s AND NOT EXISTS (
  SELECT FROM programs_referenceload o WHERE o.business_id = %(business)s AND o.client_id = r.client_id
    AND o.exercise_id = %(into)s AND o.kind = r.kind AND o.on_date = r.on_date)
"""

# What was accepted for the one that stays goes before what was accepted for the other.
_SUBSTITUTIONS: Final = """
UPDATE programs_assignment a SET row_version = a.row_version + 1, substitutions = (
  SELECT coalesce(jsonb_object_agg(d.exercise, d.substitute), '{}') FROM (
    SELECT DISTINCT ON (e.exercise) e.exercise, e.substitute FROM (
      SELECT CASE WHEN key = %(merged_key)s THEN %(into_key)s ELSE key END AS exercise,
        CASE WHEN value = %(merged_key)s THEN %(into_key)s ELSE value END AS substitute, key = %(merged_key)s AS moved
      FROM jsonb_each_text(a.substitutions)
    ) e ORDER BY e.exercise, e.moved
  ) d WHERE d.exercise <> d.substitute)
WHERE a.business_id = %(business)s
  AND EXISTS (SELECT FROM jsonb_each_text(a.substitutions) WHERE %(merged_key)s IN (key, value))
"""


class NotMergeable(Conflict):
    """Two exercises whose logs don't mean the same."""

    code = "not_mergeable"


def merge_exercise(*, exercise: str, into: str, now: datetime) -> Exercise:
    """Merge an exercise into another: its logs, names, references and places in programs go there.

    The merged one keeps its row and key, by which apps may go on to name it. Published versions never change;
    they are read with the other exercise in its place.

    Args:
        exercise: id or key of the one that goes.
        into: id or key of the one that stays.
        now: the present instant.

    Returns:
        The one that stays.

    Raises:
        NotFound: no such exercise to merge.
        UnknownObject: no such exercise to merge into.
        Invalid: they are the same.
        MergedExercise: one of them was merged before.
        NotMergeable: their sets are counted or loaded otherwise.
    """
    # Whoever writes logs locks their clients first and finds their exercises then: what is in flight lands before
    # the merge, and what comes later finds it done.
    list(Client.objects.order_by("id").select_for_update(of=("self",), no_key=True).values_list("id", flat=True))
    merged, stays = _locked(exercise, into)
    _check(merged, stays)
    _write(merged, stays)
    with connection.cursor() as cursor:
        named: dict[str, UUID | str] = {
            "business": current_business_id(),
            "merged": merged.id,
            "into": stays.id,
            "merged_key": merged.key,
            "into_key": stays.key,
        }
        cursor.execute(_REFERENCES, named)
        cursor.execute(_SUBSTITUTIONS, named)
    _rename_avoided(merged.key, stays.key)
    for follow in registry.on_exercises_merged:
        follow(merged.id, stays.id, now)
    rewrite_sessions_of(merged.key, now=now, renamed=stays.key)
    return Exercise.objects.get(id=stays.id)


def _locked(exercise: str, into: str) -> tuple[Exercise, Exercise]:
    rows = Exercise.objects.filter(named_by([exercise, into])).select_related("merged_into")
    by_name: dict[str, Exercise] = {}
    for row in rows.order_by("id").select_for_update(of=("self",), no_key=True):
        by_name[row.key] = by_name[str(row.id)] = row
    merged, stays = by_name.get(exercise.lower()), by_name.get(into.lower())
    if merged is None:
        raise NotFound("There is no exercise with this id or key; GET /api/v1/exercises lists them.")
    if stays is None:
        raise UnknownObject.at("#/into", f"There is no exercise {into!r}; GET /api/v1/exercises lists them.")
    return merged, stays


def _check(merged: Exercise, stays: Exercise) -> None:
    if merged.id == stays.id:
        raise Invalid.at("#/into", f"{merged.name} can't be merged into itself; name another exercise.", "itself")
    check_in_use(merged)
    check_in_use(stays)
    for name, words in (("measure", "counted in"), ("load_basis", "loaded as")):
        before, after = getattr(merged, name), getattr(stays, name)
        if before != after:
            raise NotMergeable(
                f"Sets of {merged.name} are {words} {before}, those of {stays.name} {after}: their logs don't mean the "
                "same, so keep both."
            )


def _write(merged: Exercise, stays: Exercise) -> None:
    known = {comparable_name(text) for text in (stays.key, stays.name, *stays.aliases)}
    aliases = list(stays.aliases)
    for text in (merged.name, *merged.aliases):
        if comparable_name(text) not in known:
            known.add(comparable_name(text))
            aliases.append(text)
    version = F("row_version") + 1
    Exercise.objects.filter(merged_into=merged).update(merged_into=stays, row_version=version)
    # Customised, so that refreshing the catalogue gives neither of them its names back.
    Exercise.objects.filter(id=merged.id).update(
        merged_into=stays, aliases=[], customised=merged.customised or _is_shared(merged), row_version=version
    )
    Exercise.objects.filter(id=stays.id).update(
        aliases=aliases, customised=stays.customised or _is_shared(stays), row_version=version
    )


def _is_shared(row: Exercise) -> bool:
    return row.origin == ExerciseOrigin.SHARED


def _rename_avoided(merged_key: str, into_key: str) -> None:
    words: ArrayField[Any, Any] = ArrayField(CharField(max_length=60))
    renamed = Func(
        F("avoided_movements"), Value(merged_key), Value(into_key), function="array_replace", output_field=words
    )
    Client.objects.filter(avoided_movements__contains=[merged_key]).update(
        avoided_movements=renamed, row_version=F("row_version") + 1
    )
