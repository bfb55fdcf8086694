"""Planned sessions, as they are read and changed."""

from collections.abc import Mapping, Sequence
from typing import Any

import orjson
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import PrescribedSessionSerializer
from programs.models import CalendarKind, PlannedState

CHANGES = ("excused", "planned")


class PlannedSessionSerializer(serializers.Serializer[Any]):
    """A session on a client's calendar."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    assignment = serializers.UUIDField()
    version = serializers.UUIDField()
    calendar = serializers.ChoiceField(choices=CalendarKind.choices)
    week_number = serializers.IntegerField()
    day_number = serializers.IntegerField()
    template_key = serializers.CharField()
    title = serializers.CharField()
    deload = serializers.BooleanField()
    local_date = serializers.DateField(help_text="The client's local date by which it counts.")
    window_start = serializers.DateField(help_text="First local date on which doing it is on time.")
    window_end = serializers.DateField()
    zone = serializers.CharField()
    due_at = serializers.DateTimeField(
        allow_null=True, help_text="From when it counts as missed; null while an earlier one of a sequence is open."
    )
    state = serializers.ChoiceField(choices=PlannedState.choices)
    excuse_reason = serializers.CharField()
    moved_from = serializers.DateField(allow_null=True)
    performed_on = serializers.DateField(allow_null=True)
    cut_reason = serializers.CharField()
    planned_work_sets = serializers.IntegerField()
    planned_low_min = serializers.FloatField()
    planned_high_min = serializers.FloatField()
    done_work_sets = serializers.IntegerField(allow_null=True)
    missed_at = serializers.DateTimeField(allow_null=True)
    row_version = serializers.IntegerField()
    prescribed = PrescribedSessionSerializer()
    slot_classes = serializers.DictField(
        child=serializers.ListField(child=serializers.CharField()), help_text="Tempo class of each set, by slot."
    )


class PlannedSessionChangeSerializer(StrictSerializer):
    """Move it, excuse it, or give it back."""

    local_date = serializers.DateField(required=False)
    state = serializers.ChoiceField(choices=list(CHANGES), required=False)
    excuse_reason = serializers.CharField(max_length=200, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that something is asked, and that a reason has something to excuse."""
        if not attrs.keys() & {"local_date", "state"}:
            raise ValidationError({"local_date": [ErrorDetail("Send local_date or state.", code="required")]})
        if "excuse_reason" in attrs and attrs.get("state") != "excused":
            sentence = "A reason belongs to state excused; send both, or leave it out."
            raise ValidationError({"excuse_reason": [ErrorDetail(sentence, code="not_excused")]})
        if attrs.get("state") == "excused" and "local_date" in attrs:
            sentence = "A session is moved or excused, not both; leave one out."
            raise ValidationError({"local_date": [ErrorDetail(sentence, code="one_change")]})
        return attrs


_RENAMED = {
    "client_id": "client",
    "assignment_id": "assignment",
    "version_id": "version",
    "assignment__calendar": "calendar",
}


def show_planned_session(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a session as it is read; its documents pass through undecoded."""
    shown = {_RENAMED.get(name, name): value for name, value in row.items()}
    for name in ("prescribed", "slot_classes"):
        shown[name] = orjson.Fragment(shown.pop(f"{name}_json"))
    return shown


def show_planned_sessions(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return sessions as they are read."""
    return [show_planned_session(row) for row in rows]
