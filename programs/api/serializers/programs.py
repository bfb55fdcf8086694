"""Programs, variants and versions, as they are read and changed."""

from collections.abc import Mapping, Sequence
from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import ContentField
from programs.models import Program, Version, VersionState

_VARIANTS_AT_MOST = 20


class VariantInSerializer(StrictSerializer):
    """A way to run the program."""

    name = serializers.CharField(max_length=120)


class ProgramInSerializer(StrictSerializer):
    """A program to make."""

    name = serializers.CharField(max_length=200)
    notes = serializers.CharField(max_length=10_000, required=False, allow_blank=True)
    variants = VariantInSerializer(many=True, max_length=_VARIANTS_AT_MOST, required=False)  # type: ignore[call-arg]  # of the list


class ProgramChangeSerializer(StrictSerializer):
    """What to change of a program."""

    name = serializers.CharField(max_length=200, required=False)
    notes = serializers.CharField(max_length=10_000, required=False, allow_blank=True)
    archived = serializers.BooleanField(required=False)
    add_variants = VariantInSerializer(many=True, max_length=_VARIANTS_AT_MOST, required=False)  # type: ignore[call-arg]  # of the list


class VersionHeadSerializer(serializers.Serializer[Any]):
    """A version without its content."""

    id = serializers.UUIDField()
    program = serializers.UUIDField()
    variant = serializers.UUIDField()
    variant_name = serializers.CharField()
    number = serializers.IntegerField()
    state = serializers.ChoiceField(choices=VersionState.choices)
    content_hash = serializers.CharField(help_text="SHA-256 of the content's canonical JSON.")
    published_at = serializers.DateTimeField(allow_null=True)
    published_by = serializers.UUIDField(allow_null=True)
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


class VersionSerializer(VersionHeadSerializer):
    """A version with its content."""

    content = ContentField()


class VariantSerializer(serializers.Serializer[Any]):
    """A variant with the heads of its versions."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    versions = VersionHeadSerializer(many=True)


class ProgramSerializer(serializers.Serializer[Any]):
    """A program with its variants."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    notes = serializers.CharField()
    archived = serializers.BooleanField()
    variants = VariantSerializer(many=True)
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


class VersionInSerializer(StrictSerializer):
    """A draft to begin."""

    variant = serializers.UUIDField()
    content = ContentField()


class VersionChangeSerializer(StrictSerializer):
    """A draft's content, whole."""

    content = ContentField()


def show_program(row: Program) -> dict[str, Any]:
    """Return a program as it is read."""
    return {
        "id": row.id,
        "name": row.name,
        "notes": row.notes,
        "archived": row.archived,
        "variants": [
            {
                "id": variant.id,
                "name": variant.name,
                "versions": [
                    _head(version, program=row.id, variant_name=variant.name) for version in variant.versions.all()
                ],
            }
            for variant in row.variants.all()
        ],
        "row_version": row.row_version,
        "created_at": row.created_at,
    }


def show_programs(rows: Sequence[Program]) -> list[dict[str, Any]]:
    """Return programs as they are read."""
    return [show_program(row) for row in rows]


def show_version(row: Version) -> dict[str, Any]:
    """Return a version as it is read."""
    head = _head(row, program=row.variant.program_id, variant_name=row.variant.name)
    return head | {"content": row.content}


def show_version_heads(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the heads of versions as they are read."""
    return [
        {
            "id": row["id"],
            "program": row["variant__program_id"],
            "variant": row["variant_id"],
            "variant_name": row["variant__name"],
            "number": row["number"],
            "state": row["state"],
            "content_hash": row["content_hash"],
            "published_at": row["published_at"],
            "published_by": row["published_by_id"],
            "row_version": row["row_version"],
            "created_at": row["created_at"],
        }
        for row in rows
    ]


def _head(row: Version, *, program: Any, variant_name: str) -> dict[str, Any]:
    return {
        "id": row.id,
        "program": program,
        "variant": row.variant_id,
        "variant_name": variant_name,
        "number": row.number,
        "state": row.state,
        "content_hash": row.content_hash,
        "published_at": row.published_at,
        "published_by": row.published_by_id,
        "row_version": row.row_version,
        "created_at": row.created_at,
    }
