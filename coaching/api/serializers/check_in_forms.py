"""Check-in forms, as they are read and changed."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, Final

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.unknown_fields import StrictSerializer
from coaching.models.check_in_forms import CheckInForm, CheckInFormVersion, FormCadence
from coaching.screening.form_questions import DIRECTIONS, QUESTION_KINDS, question_faults, read_question

_MOST_QUESTIONS: Final = 40
_MOST_CHOICES: Final = 20
_BOUNDS: Final = ("minimum", "maximum")


class QuestionInSerializer(StrictSerializer):
    """A question to ask."""

    key = serializers.RegexField(
        r"^[a-z][a-z0-9_]{0,39}$", help_text="Lower-case letters, digits and _; answers are given under it for good."
    )
    text = serializers.CharField(max_length=300)
    kind = serializers.ChoiceField(choices=QUESTION_KINDS)
    direction = serializers.ChoiceField(
        choices=DIRECTIONS, default="neither", help_text="Of a scale or number: which way is worse."
    )
    minimum = serializers.DecimalField(
        max_digits=12, decimal_places=3, required=False, allow_null=True, help_text="Of a scale or number."
    )
    maximum = serializers.DecimalField(max_digits=12, decimal_places=3, required=False, allow_null=True)
    low_label = serializers.CharField(max_length=80, default="", allow_blank=True, help_text="What the least means.")
    high_label = serializers.CharField(max_length=80, default="", allow_blank=True)
    unit = serializers.CharField(max_length=20, default="", allow_blank=True, help_text="Of a number.")
    choices = serializers.ListField(
        child=serializers.CharField(max_length=80), max_length=_MOST_CHOICES, default=list, help_text="Of a choice."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return it as it is kept, once it goes together."""
        kept = {**attrs, **{name: _plain(attrs.get(name)) for name in _BOUNDS}, "choices": list(attrs["choices"])}
        faults = question_faults(read_question(kept))
        if faults:
            raise ValidationError({fault.field: [ErrorDetail(fault.sentence, code=fault.code)] for fault in faults})
        return kept


class CheckInFormInSerializer(StrictSerializer):
    """A form to make or change; other questions than before make a new version."""

    name = serializers.CharField(max_length=120)
    cadence = serializers.ChoiceField(choices=FormCadence.choices)
    questions = QuestionInSerializer(many=True, min_length=1, max_length=_MOST_QUESTIONS)  # type: ignore[call-arg]  # of the list

    def validate_questions(self, questions: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Check that no key stands twice."""
        keys = [question["key"] for question in questions]
        faults: dict[Any, Any] = {
            index: {"key": [ErrorDetail(f"The key {key!r} stands twice; name each question once.", code="duplicate")]}
            for index, key in enumerate(keys)
            if key in keys[:index]
        }
        if faults:
            raise ValidationError(faults)
        return questions


class CheckInFormChangeSerializer(CheckInFormInSerializer):
    """What can be changed of a form; questions are sent whole, each with all that it says."""

    name = serializers.CharField(max_length=120, required=False)
    cadence = serializers.ChoiceField(choices=FormCadence.choices, required=False)
    questions = QuestionInSerializer(many=True, min_length=1, max_length=_MOST_QUESTIONS, required=False)  # type: ignore[call-arg]  # of the list
    retired = serializers.BooleanField(
        required=False, help_text="No longer offered; late answers are taken all the same."
    )


class QuestionSerializer(serializers.Serializer[Any]):
    """A question as it is asked."""

    key = serializers.CharField()
    text = serializers.CharField()
    kind = serializers.ChoiceField(choices=QUESTION_KINDS)
    direction = serializers.ChoiceField(choices=DIRECTIONS)
    minimum = serializers.FloatField(allow_null=True)
    maximum = serializers.FloatField(allow_null=True)
    low_label = serializers.CharField()
    high_label = serializers.CharField()
    unit = serializers.CharField()
    choices = serializers.ListField(child=serializers.CharField())


class CheckInFormSerializer(serializers.Serializer[Any]):
    """A form with its present questions."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    cadence = serializers.ChoiceField(choices=FormCadence.choices)
    version = serializers.IntegerField(help_text="The present one's number.")
    questions = QuestionSerializer(many=True)
    retired = serializers.BooleanField()
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


class CheckInFormVersionSerializer(serializers.Serializer[Any]):
    """The questions that a form had."""

    number = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    questions = QuestionSerializer(many=True)


class CheckInFormWithVersionsSerializer(CheckInFormSerializer):
    """A form with every version that it had, newest first."""

    versions = CheckInFormVersionSerializer(many=True)


def show_check_in_form(row: CheckInForm) -> dict[str, Any]:
    """Return a form as it is read."""
    return {
        "id": row.id,
        "name": row.name,
        "cadence": row.cadence,
        "version": row.version,
        "questions": row.questions,
        "retired": row.retired,
        "row_version": row.row_version,
        "created_at": row.created_at,
    }


def show_check_in_forms(rows: Sequence[CheckInForm]) -> list[dict[str, Any]]:
    """Return forms as they are read."""
    return [show_check_in_form(row) for row in rows]


def show_with_versions(row: CheckInForm, versions: Iterable[CheckInFormVersion]) -> dict[str, Any]:
    """Return a form with its versions."""
    shown = [
        {"number": version.number, "created_at": version.created_at, "questions": version.questions}
        for version in versions
    ]
    return {**show_check_in_form(row), "versions": shown}


def _plain(bound: Decimal | None) -> int | float | None:
    if bound is None:
        return None
    return float(bound) if bound % 1 else int(bound)
