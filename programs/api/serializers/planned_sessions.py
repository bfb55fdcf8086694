"""Planned sessions, as they are read and changed."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any
from uuid import UUID

import orjson
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import PrescribedSessionSerializer
from programs.api.serializers.figures import figures_of
from programs.api.serializers.session_changes import SessionChangesSerializer, SlotEditSerializer
from programs.models import CalendarKind, PlannedState
from programs.prescription.client_fit import FitWarning
from programs.prescription.session_pace import PacedTime
from programs.selectors.place_warnings import PlaceWarning

CHANGES = ("excused", "planned")
SLOTS_AT_MOST = 40


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
    excuse_reason = serializers.CharField(help_text="In words that the client reads too.")
    moved_from = serializers.DateField(allow_null=True)
    performed_on = serializers.DateField(allow_null=True)
    cut_reason = serializers.CharField()
    planned_work_sets = serializers.IntegerField()
    planned_low_min = serializers.FloatField()
    planned_high_min = serializers.FloatField()
    pace = figures_of(PacedTime)(help_text="The planned time at the client's usual pace, beside it.")
    done_work_sets = serializers.IntegerField(allow_null=True)
    missed_at = serializers.DateTimeField(allow_null=True)
    row_version = serializers.IntegerField()
    place = serializers.UUIDField(allow_null=True, help_text="The travel place that it is planned for.")
    place_name = serializers.CharField(allow_null=True)
    place_warnings = figures_of(PlaceWarning)(many=True)
    hold_warnings = figures_of(FitWarning)(many=True, help_text="What is held for pain; empty once it is done.")
    changes = SessionChangesSerializer(allow_null=True, help_text="What it has otherwise than its version.")
    changed_at = serializers.DateTimeField(allow_null=True)
    changed_by = serializers.UUIDField(allow_null=True, help_text="The coach who changed it last; null for clients.")
    prescribed = PrescribedSessionSerializer()
    slot_classes = serializers.DictField(
        child=serializers.ListField(child=serializers.CharField()), help_text="Tempo class of each set, by slot."
    )


class PlannedSessionChangeSerializer(StrictSerializer):
    """Move it, excuse it, give it back, or change what it prescribes."""

    local_date = serializers.DateField(required=False)
    state = serializers.ChoiceField(choices=list(CHANGES), required=False)
    excuse_reason = serializers.CharField(max_length=200, required=False)
    prescribed = SlotEditSerializer(
        many=True,
        required=False,
        allow_null=True,
        min_length=1,  # type: ignore[call-arg]  # of the list
        max_length=SLOTS_AT_MOST,
        help_text="The slots that are otherwise in this one session; null takes all its changes back.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that something is asked, and that a reason has something to excuse."""
        if not attrs.keys() & {"local_date", "state", "prescribed"}:
            sentence = "Send local_date, state or prescribed."
            raise ValidationError({"local_date": [ErrorDetail(sentence, code="required")]})
        if "prescribed" in attrs and len(attrs) > 1:
            sentence = "What it prescribes is changed on its own; send the rest in another call."
            raise ValidationError({"prescribed": [ErrorDetail(sentence, code="one_change")]})
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
    "place_id": "place",
    "place__name": "place_name",
    "changed_by_id": "changed_by",
}
_HIDDEN = frozenset({"place__equipment"})


def show_planned_session(
    row: Mapping[str, Any],
    warnings: Mapping[UUID, Sequence[PlaceWarning]],
    held: Mapping[UUID, Sequence[FitWarning]],
    paces: Mapping[UUID, PacedTime],
) -> dict[str, Any]:
    """Return a session as it is read; its documents pass through undecoded."""
    shown = {_RENAMED.get(name, name): value for name, value in row.items() if name not in _HIDDEN}
    for name in ("prescribed", "slot_classes"):
        shown[name] = orjson.Fragment(shown.pop(f"{name}_json"))
    return shown | {
        "pace": asdict(paces[row["id"]]),
        "place_warnings": [asdict(warning) for warning in warnings.get(row["id"], ())],
        "hold_warnings": [asdict(warning) for warning in held.get(row["id"], ())],
    }


def show_planned_sessions(
    rows: Sequence[Mapping[str, Any]],
    warnings: Mapping[UUID, Sequence[PlaceWarning]],
    held: Mapping[UUID, Sequence[FitWarning]],
    paces: Mapping[UUID, PacedTime],
) -> list[dict[str, Any]]:
    """Return sessions as they are read."""
    return [show_planned_session(row, warnings, held, paces) for row in rows]
