"""Moves to another version, as they are asked for and answered."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rest_framework import serializers

from coaching.http.fields import WeekdaysField
from coaching.http.unknown_fields import StrictSerializer
from programs.actions.version_move_results import ChangeWithoutPlace, VersionMove, VersionMoveResult
from programs.api.serializers.figures import figures_of
from programs.prescription.client_fit import FitWarning
from programs.prescription.snapshot import MissingReference
from programs.prescription.substitutes import ExerciseConflict

ASSIGNMENTS_AT_MOST = 200
MOVE_OUTCOMES = ("moved", "conflict", "refused")


class VersionMoveInSerializer(StrictSerializer):
    """The version to follow, and from when on."""

    version = serializers.UUIDField()
    from_date = serializers.DateField(help_text="Local date of the client, not before today.")
    weekdays = WeekdaysField(required=False)


class AssignmentMoveSerializer(StrictSerializer):
    """An assignment to move, with what differs from the call's own terms."""

    assignment = serializers.UUIDField()
    from_date = serializers.DateField(required=False)
    weekdays = WeekdaysField(required=False)


class VersionMovesInSerializer(StrictSerializer):
    """A version for many assignments of its variant."""

    version = serializers.UUIDField()
    from_date = serializers.DateField(help_text="Local date of each client, not before today.")
    weekdays = WeekdaysField(required=False)
    assignments = AssignmentMoveSerializer(many=True, min_length=1, max_length=ASSIGNMENTS_AT_MOST)  # type: ignore[call-arg]  # of the list


class VersionMoveResultSerializer(serializers.Serializer[Any]):
    """What became of one assignment; `code` and `detail` say why not."""

    assignment = serializers.UUIDField()
    client = serializers.UUIDField(allow_null=True)
    outcome = serializers.ChoiceField(choices=list(MOVE_OUTCOMES))
    code = serializers.CharField(help_text="Empty when moved.")
    detail = serializers.CharField(help_text="Empty when moved.")
    from_date = serializers.DateField(allow_null=True)
    rewritten_count = serializers.IntegerField(help_text="Sessions to come that the version prescribes now.")
    added_count = serializers.IntegerField()
    removed_count = serializers.IntegerField()
    last_date = serializers.DateField(allow_null=True)
    needs_reference = figures_of(MissingReference)(many=True)
    changes_without_place = figures_of(ChangeWithoutPlace)(many=True)
    warnings = figures_of(FitWarning)(many=True, help_text="In what the sessions to come do not fit the client.")
    conflicts = figures_of(ExerciseConflict)(
        many=True,
        help_text="Exercises that do not fit, each with a proposed substitute for POST /assignments/substitutions.",
    )


class VersionMoveResultsSerializer(serializers.Serializer[Any]):
    """One result per assignment, in the order sent."""

    summary = serializers.DictField(child=serializers.IntegerField(), help_text="How many of each outcome.")
    results = VersionMoveResultSerializer(many=True)


def moves_of(body: dict[str, Any]) -> list[VersionMove]:
    """Return the moves of a call for many assignments."""
    return [
        VersionMove(
            entry["assignment"],
            entry.get("from_date", body["from_date"]),
            entry.get("weekdays", body.get("weekdays")),
        )
        for entry in body["assignments"]
    ]


def show_move(result: VersionMoveResult) -> dict[str, Any]:
    """Return what became of an assignment as it is read."""
    return {
        "assignment": result.assignment_id,
        "client": result.client_id,
        "outcome": result.outcome,
        "code": result.code,
        "detail": result.detail,
        "from_date": result.from_date,
        "rewritten_count": result.rewritten_count,
        "added_count": result.added_count,
        "removed_count": result.removed_count,
        "last_date": result.last_date,
        "needs_reference": [asdict(lack) for lack in result.needs_reference],
        "changes_without_place": [asdict(change) for change in result.changes_without_place],
        "warnings": [asdict(warning) for warning in result.warnings],
        "conflicts": [asdict(conflict) for conflict in result.conflicts],
    }


def show_moves(results: Sequence[VersionMoveResult]) -> dict[str, Any]:
    """Return the results of a call as they are read."""
    outcomes: list[str] = [result.outcome for result in results]
    return {
        "summary": {outcome: outcomes.count(outcome) for outcome in MOVE_OUTCOMES},
        "results": [show_move(result) for result in results],
    }
