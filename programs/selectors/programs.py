"""Programs with their variants, and the versions of these."""

from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from coaching.refusals import NotFound, UnknownObject
from programs.models import Program, Variant, Version

VERSION_HEAD = (
    "id",
    "number",
    "state",
    "content_hash",
    "published_at",
    "published_by_id",
    "row_version",
    "created_at",
    "variant_id",
    "variant__name",
    "variant__program_id",
)
"""What a list of versions shows: everything but the content."""


def list_programs(*, archived: bool | None = None) -> QuerySet[Program]:
    """Return programs with their variants, each variant with the heads of its versions."""
    rows = Program.objects.prefetch_related(
        Prefetch(
            "variants",
            Variant.objects.order_by("id").prefetch_related(
                Prefetch("versions", Version.objects.defer("content").order_by("number"))
            ),
        )
    )
    return rows if archived is None else rows.filter(archived=archived)


def get_program(*, program_id: UUID) -> Program:
    """Return a program with its variants.

    Raises:
        NotFound: the business has no such program.
    """
    found = list_programs().filter(id=program_id).first()
    if found is None:
        raise NotFound("There is no program with this id.")
    return found


def list_versions(*, program_id: UUID) -> QuerySet[Version, dict[str, Any]]:
    """Return the heads of a program's versions.

    Raises:
        NotFound: the business has no such program.
    """
    if not Program.objects.filter(id=program_id).exists():
        raise NotFound("There is no program with this id.")
    rows: QuerySet[Version, dict[str, Any]] = Version.objects.filter(variant__program_id=program_id).values(
        *VERSION_HEAD
    )
    return rows


def get_version(*, version_id: UUID) -> Version:
    """Return a version with its variant.

    Raises:
        NotFound: the business has no such version.
    """
    found = Version.objects.select_related("variant").filter(id=version_id).first()
    if found is None:
        raise NotFound("There is no program version with this id.")
    return found


def get_version_named(*, version_id: UUID, pointer: str) -> Version:
    """Return a version that a body names, with its variant and program.

    Raises:
        UnknownObject: the business has no such version.
    """
    found = Version.objects.select_related("variant__program").filter(id=version_id).first()
    if found is None:
        raise UnknownObject.at(pointer, "There is no program version with this id.")
    return found
