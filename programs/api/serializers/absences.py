"""Absences, as they are recorded and read."""

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from coaching.models import Absence
from coaching.models.clients import AbsenceKind, AbsenceTreatment


class AbsenceInSerializer(StrictSerializer):
    """Days away; with treatment `pause` the sessions that they take away are excused."""

    client = serializers.UUIDField()
    starts_on = serializers.DateField(help_text="First local date away.")
    ends_on = serializers.DateField(help_text="Last local date away.")
    kind = serializers.ChoiceField(choices=AbsenceKind.choices)
    treatment = serializers.ChoiceField(choices=AbsenceTreatment.choices, required=False)
    place = serializers.UUIDField(
        required=False, help_text="With treatment `travel_kit`: the sessions inside are planned for this place."
    )
    note = serializers.CharField(max_length=500, required=False, allow_blank=True, help_text="The client reads it too.")


class AbsenceSerializer(serializers.Serializer[Any]):
    """Days that a client is away."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    starts_on = serializers.DateField()
    ends_on = serializers.DateField()
    kind = serializers.ChoiceField(choices=AbsenceKind.choices)
    treatment = serializers.ChoiceField(choices=AbsenceTreatment.choices)
    place = serializers.UUIDField(allow_null=True)
    note = serializers.CharField()
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


def show_absence(row: Absence) -> dict[str, Any]:
    """Return an absence as it is read."""
    return {
        "id": row.id,
        "client": row.client_id,
        "starts_on": row.starts_on,
        "ends_on": row.ends_on,
        "kind": row.kind,
        "treatment": row.treatment,
        "place": row.place_id,
        "note": row.note,
        "row_version": row.row_version,
        "created_at": row.created_at,
    }


def show_absences(rows: Sequence[Absence]) -> list[dict[str, Any]]:
    """Return absences as they are read."""
    return [show_absence(row) for row in rows]
