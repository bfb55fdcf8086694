"""Assignments, as they are made, read and changed."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.fields import WeekdaysField
from coaching.http.unknown_fields import StrictSerializer
from programs.actions.assignment_results import AssignmentResult
from programs.api.serializers.figures import figures_of
from programs.models import Assignment, AssignmentState, CalendarKind
from programs.prescription.client_fit import FitWarning
from programs.prescription.snapshot import MissingReference
from programs.prescription.substitutes import ExerciseConflict

CLIENTS_AT_MOST = 200
OUTCOMES = ("assigned", "conflict", "refused")


class ClientStartSerializer(StrictSerializer):
    """A client to assign to, with what differs from the call's own terms."""

    client = serializers.UUIDField()
    start_date = serializers.DateField(required=False)
    weekdays = WeekdaysField(required=False)


class AssignmentInSerializer(StrictSerializer):
    """A published version for many clients."""

    version = serializers.UUIDField()
    calendar = serializers.ChoiceField(choices=CalendarKind.choices)
    start_date = serializers.DateField(help_text="Local date of each client.")
    weekdays = WeekdaysField(required=False)
    late_after_days = serializers.IntegerField(
        required=False, min_value=1, max_value=60, help_text="For `in_sequence`: when the next session is late."
    )
    alert_past = serializers.BooleanField(
        default=False,
        help_text="Whether coaches are also alerted to sessions that were due before now, where the start lies back.",
    )
    clients = ClientStartSerializer(many=True, min_length=1, max_length=CLIENTS_AT_MOST)  # type: ignore[call-arg]  # of the list

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that lateness is said for a sequence, and for nothing else."""
        in_sequence = attrs["calendar"] == CalendarKind.IN_SEQUENCE
        if in_sequence and "late_after_days" not in attrs:
            sentence = "Say after how many days the next session of a sequence is late."
            raise ValidationError({"late_after_days": [ErrorDetail(sentence, code="required")]})
        if not in_sequence and "late_after_days" in attrs:
            sentence = "Only a calendar in_sequence has it; leave it out."
            raise ValidationError({"late_after_days": [ErrorDetail(sentence, code="not_in_sequence")]})
        return attrs


class AssignmentResultSerializer(serializers.Serializer[Any]):
    """What became of one client; `code` and `detail` say why not."""

    client = serializers.UUIDField()
    outcome = serializers.ChoiceField(choices=list(OUTCOMES))
    code = serializers.CharField(help_text="Empty when assigned.")
    detail = serializers.CharField(help_text="Empty when assigned.")
    assignment = serializers.UUIDField(allow_null=True)
    session_count = serializers.IntegerField()
    first_date = serializers.DateField(allow_null=True)
    last_date = serializers.DateField(allow_null=True)
    needs_reference = figures_of(MissingReference)(many=True)
    warnings = figures_of(FitWarning)(many=True)
    conflicts = figures_of(ExerciseConflict)(
        many=True,
        help_text="Exercises that do not fit, each with a proposed substitute for POST /assignments/substitutions.",
    )


class AssignmentResultsSerializer(serializers.Serializer[Any]):
    """One result per client, in the order sent."""

    summary = serializers.DictField(child=serializers.IntegerField(), help_text="How many of each outcome.")
    results = AssignmentResultSerializer(many=True)


class AssignedVersionSerializer(serializers.Serializer[Any]):
    """The version followed from a date on."""

    version = serializers.UUIDField()
    number = serializers.IntegerField()
    from_date = serializers.DateField()


class PauseSerializer(serializers.Serializer[Any]):
    """Days on which the assignment stood still; the day of going on is not among them."""

    from_date = serializers.DateField()
    resumed_on = serializers.DateField(allow_null=True)


class AssignmentSerializer(serializers.Serializer[Any]):
    """A variant given to a client."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    program = serializers.UUIDField()
    variant = serializers.UUIDField()
    variant_name = serializers.CharField()
    calendar = serializers.ChoiceField(choices=CalendarKind.choices)
    weekdays = serializers.ListField(child=serializers.IntegerField())
    start_date = serializers.DateField()
    late_after_days = serializers.IntegerField(allow_null=True)
    state = serializers.ChoiceField(choices=AssignmentState.choices)
    substitutions = serializers.DictField(
        child=serializers.CharField(), help_text="By an exercise's key, the key of what is done in its place."
    )
    versions = AssignedVersionSerializer(many=True)
    pauses = PauseSerializer(many=True)
    session_counts = serializers.DictField(child=serializers.IntegerField(), help_text="Sessions by state.")
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


class AssignmentChangeSerializer(StrictSerializer):
    """End it, or put it on other weekdays; from today in the client's zone unless `from_date` says."""

    state = serializers.ChoiceField(choices=["ended"], required=False)
    weekdays = WeekdaysField(required=False)
    from_date = serializers.DateField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that one thing is asked."""
        if ("state" in attrs) == ("weekdays" in attrs):
            sentence = "Send state ended, or weekdays: one of them."
            raise ValidationError({"state": [ErrorDetail(sentence, code="one_change")]})
        return attrs


class PauseInSerializer(StrictSerializer):
    """From when it stands still."""

    from_date = serializers.DateField()


class ResumeInSerializer(StrictSerializer):
    """When it goes on."""

    on = serializers.DateField()


class ShiftInSerializer(StrictSerializer):
    """How far its sessions move; negative is earlier."""

    days = serializers.IntegerField(min_value=-366, max_value=366)
    from_date = serializers.DateField(required=False)


def show_results(results: Sequence[AssignmentResult]) -> dict[str, Any]:
    """Return the results of an assignment as they are read."""
    shown = [_result(result) for result in results]
    outcomes: list[str] = [result.outcome for result in results]
    return {"summary": {outcome: outcomes.count(outcome) for outcome in OUTCOMES}, "results": shown}


def show_assignment(row: Assignment, counts: Mapping[UUID, Mapping[str, int]]) -> dict[str, Any]:
    """Return an assignment as it is read."""
    return {
        "id": row.id,
        "client": row.client_id,
        "program": row.variant.program_id,
        "variant": row.variant_id,
        "variant_name": row.variant.name,
        "calendar": row.calendar,
        "weekdays": row.weekdays,
        "start_date": row.start_date,
        "late_after_days": row.late_after_days,
        "state": row.state,
        "substitutions": row.substitutions,
        "versions": [
            {"version": given.version_id, "number": given.version.number, "from_date": given.from_date}
            for given in row.versions.all()
        ],
        "pauses": [{"from_date": pause.from_date, "resumed_on": pause.resumed_on} for pause in row.pauses.all()],
        "session_counts": dict(counts.get(row.id, {})),
        "row_version": row.row_version,
        "created_at": row.created_at,
    }


def _result(result: AssignmentResult) -> dict[str, Any]:
    return {
        "client": result.client_id,
        "outcome": result.outcome,
        "code": result.code,
        "detail": result.detail,
        "assignment": result.assignment_id,
        "session_count": result.session_count,
        "first_date": result.first_date,
        "last_date": result.last_date,
        "needs_reference": [asdict(lack) for lack in result.needs_reference],
        "warnings": [asdict(warning) for warning in result.warnings],
        "conflicts": [asdict(conflict) for conflict in result.conflicts],
    }
