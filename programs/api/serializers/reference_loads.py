"""Reference loads, as they are recorded and read."""

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from coaching.http.units import LoadSerializer, LoadShownSerializer, show_load
from programs.models import ReferenceKind, ReferenceLoad


class ReferenceLoadInSerializer(LoadSerializer):
    """A load that percentages resolve against, in the exercise's own load basis."""

    exercise = serializers.CharField(max_length=64, help_text="Id or key.")
    kind = serializers.ChoiceField(choices=ReferenceKind.choices)
    on_date = serializers.DateField(help_text="The client's local date from which it holds.")
    source = serializers.CharField(max_length=120, required=False, allow_blank=True)  # type: ignore[assignment]  # the base class has one too


class ReferenceLoadSerializer(LoadShownSerializer):
    """A reference load of a client."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    exercise = serializers.CharField(help_text="Key.")
    exercise_id = serializers.UUIDField()
    exercise_name = serializers.CharField()
    kind = serializers.ChoiceField(choices=ReferenceKind.choices)
    on_date = serializers.DateField()
    source = serializers.CharField()  # type: ignore[assignment]  # the base class has one too
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


def show_reference_load(row: ReferenceLoad) -> dict[str, Any]:
    """Return a reference load as it is read."""
    return {
        "id": row.id,
        "client": row.client_id,
        "exercise": row.exercise.key,
        "exercise_id": row.exercise_id,
        "exercise_name": row.exercise.name,
        "kind": row.kind,
        **show_load(row.load, row.unit),  # type: ignore[arg-type]
        "on_date": row.on_date,
        "source": row.source,
        "row_version": row.row_version,
        "created_at": row.created_at,
    }


def show_reference_loads(rows: Sequence[ReferenceLoad]) -> list[dict[str, Any]]:
    """Return reference loads as they are read."""
    return [show_reference_load(row) for row in rows]
