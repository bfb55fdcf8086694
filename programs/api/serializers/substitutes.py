"""Substitutes, as they are offered and accepted."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from programs.actions.substitutions import SubstitutionResult
from programs.api.serializers.figures import figures_of
from programs.prescription.client_fit import FitWarning
from programs.prescription.snapshot import MissingReference
from programs.prescription.substitutes import Substitute
from programs.selectors.substitutes import SubstituteList

SUBSTITUTIONS_AT_MOST = 2000
SUBSTITUTION_OUTCOMES = ("accepted", "taken_back", "unchanged", "refused")


class SubstitutesSerializer(serializers.Serializer[Any]):
    """Substitutes for an exercise, closest first; the exercise itself stands first where it fits."""

    exercise = serializers.CharField(help_text="Key.")
    exercise_name = serializers.CharField()
    warnings = figures_of(FitWarning)(many=True, help_text="In what the exercise itself does not fit.")
    substitutes = figures_of(Substitute)(many=True)


class WantedSubstitutionSerializer(StrictSerializer):
    """What a client is to do in place of an exercise."""

    assignment = serializers.UUIDField()
    exercise = serializers.CharField(max_length=64, help_text="Id or key, as the program prescribes it.")
    substitute = serializers.CharField(
        max_length=64, allow_null=True, help_text="Id or key; null, or the exercise itself, takes it back."
    )


class SubstitutionsInSerializer(StrictSerializer):
    """Substitutions of many assignments."""

    substitutions = WantedSubstitutionSerializer(many=True, min_length=1, max_length=SUBSTITUTIONS_AT_MOST)  # type: ignore[call-arg]  # of the list


class SubstitutionResultSerializer(serializers.Serializer[Any]):
    """What became of one substitution; `code` and `detail` say why not."""

    assignment = serializers.UUIDField()
    exercise = serializers.CharField()
    substitute = serializers.CharField(allow_null=True)
    outcome = serializers.ChoiceField(choices=list(SUBSTITUTION_OUTCOMES))
    code = serializers.CharField(help_text="Empty unless refused.")
    detail = serializers.CharField(help_text="Empty unless refused.")
    session_count = serializers.IntegerField(
        help_text="Sessions to come of the assignment that read otherwise after the whole call."
    )
    needs_reference = figures_of(MissingReference)(many=True)
    warnings = figures_of(FitWarning)(many=True, help_text="In what the substitute does not fit the client.")


class SubstitutionResultsSerializer(serializers.Serializer[Any]):
    """One result per substitution, in the order sent."""

    summary = serializers.DictField(child=serializers.IntegerField(), help_text="How many of each outcome.")
    results = SubstitutionResultSerializer(many=True)


def show_substitutes(found: SubstituteList) -> dict[str, Any]:
    """Return substitutes as they are read."""
    return asdict(found)


def show_substitution_results(results: Sequence[SubstitutionResult]) -> dict[str, Any]:
    """Return the results of accepting substitutions as they are read."""
    outcomes: list[str] = [result.outcome for result in results]
    shown = [asdict(result) for result in results]
    return {
        "summary": {outcome: outcomes.count(outcome) for outcome in SUBSTITUTION_OUTCOMES},
        "results": [{"assignment": row.pop("assignment_id"), **row} for row in shown],
    }
