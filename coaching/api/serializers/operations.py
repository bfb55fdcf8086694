"""Exports, as they are asked for, and long work, as it is shown."""

from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from coaching.models.operations import Operation, OperationKind, OperationState


class AuditExportSerializer(StrictSerializer):
    """Which entries of the trail; all where nothing is sent."""

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Return the fields, one of which Python keeps its name for itself."""
        return {
            "from": serializers.DateField(required=False, help_text="From this day on, in UTC."),
            "to": serializers.DateField(required=False, help_text="To the end of this day, in UTC."),
            "actor": serializers.UUIDField(required=False),
            "operation": serializers.CharField(max_length=60, required=False),
            "object": serializers.CharField(max_length=80, required=False),
            "address": serializers.IPAddressField(required=False),
        }


class ExportInSerializer(StrictSerializer):
    """What to export: exactly one of the three."""

    client = serializers.UUIDField(required=False, help_text="This client's whole record.")
    business = serializers.BooleanField(required=False, help_text="true: all that the business holds. Owners only.")
    audit = AuditExportSerializer(required=False, help_text="The trail of who did what. Owners only.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that one thing is asked for."""
        if len(attrs) != 1 or attrs.get("business") is False:
            raise serializers.ValidationError("Send exactly one of client, business (true) and audit.", "one_of")
        return attrs


class OperationSerializer(serializers.Serializer[Any]):
    """Work that takes longer than a request."""

    id = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=OperationKind.choices)
    state = serializers.ChoiceField(choices=OperationState.choices)
    progress = serializers.FloatField(min_value=0, max_value=1)
    client = serializers.UUIDField(allow_null=True)
    created_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True)
    expires_at = serializers.DateTimeField(allow_null=True, help_text="Until when the file is kept.")
    size_bytes = serializers.IntegerField(allow_null=True, help_text="Of the file that is there now.")
    result_url = serializers.CharField(allow_null=True, help_text="Where the file is, with the same credential.")
    problem = serializers.CharField(allow_null=True, help_text="Why it failed.")


def operation_address(row: Operation) -> str:
    """Return where an operation is read."""
    return f"/api/v1/operations/{row.id}"


def show_operation(row: Operation) -> dict[str, Any]:
    """Return an operation as it is shown."""
    has_file = row.size_bytes > 0
    return {
        "id": row.id,
        "kind": row.kind,
        "state": row.state,
        "progress": float(row.progress),
        "client": row.client_id,
        "created_at": row.created_at,
        "ended_at": row.ended_at,
        "expires_at": row.expires_at,
        "size_bytes": row.size_bytes if has_file else None,
        "result_url": f"{operation_address(row)}/result" if has_file else None,
        "problem": row.problem or None,
    }
