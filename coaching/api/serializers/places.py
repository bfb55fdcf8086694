"""Places of clients, as they are read and changed."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching import registry
from coaching.http.fields import WordField
from coaching.http.unknown_fields import StrictSerializer, nearest
from coaching.models.places import Place, PlaceKind

_WORDS_AT_MOST = 60
_UNITS = ("step_kg", "step_lb")


def known_words(words: Sequence[str], known: set[str], what: str) -> list[str]:
    """Check words against those that the catalogue knows; return each once, in order.

    Raises:
        ValidationError: with every unknown word at its place, and the nearest known one.
    """
    faults: dict[Any, list[ErrorDetail]] = {
        index: [ErrorDetail(f"There is no {what} {word!r}.{nearest(word, known)}", code=f"unknown_{what}")]
        for index, word in enumerate(words)
        if known and word not in known
    }
    if faults:
        raise ValidationError(faults)
    return sorted(set(words))


class LoadStepSerializer(StrictSerializer):
    """The step in which one kind of load rises there: in kg or lb, one of them."""

    loading = WordField(max_length=20, help_text="How the exercise is loaded: barbell, dumbbell_pair, stack and so on.")
    step_kg = serializers.DecimalField(max_digits=5, decimal_places=3, min_value=Decimal("0.1"), required=False)
    step_lb = serializers.DecimalField(max_digits=5, decimal_places=3, min_value=Decimal("0.1"), required=False)

    def validate_loading(self, word: str) -> str:
        """Check the word against what the catalogue knows."""
        if registry.known_loadings and word not in registry.known_loadings:
            sentence = f"There is no loading {word!r}.{nearest(word, registry.known_loadings)}"
            raise ValidationError(sentence, code="unknown_loading")
        return word

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that one unit is used."""
        if ("step_kg" in attrs) == ("step_lb" in attrs):
            raise ValidationError({"step_kg": [ErrorDetail("Send step_kg or step_lb, one of them.", code="one_unit")]})
        return attrs


class PlaceInSerializer(StrictSerializer):
    """A place to write down. What is not among its equipment is not there."""

    name = serializers.CharField(max_length=120)
    kind = serializers.ChoiceField(choices=PlaceKind.choices)
    equipment = serializers.ListField(child=WordField(max_length=40), max_length=_WORDS_AT_MOST, required=False)
    load_steps = LoadStepSerializer(many=True, max_length=20, required=False)  # type: ignore[call-arg]  # of the list

    def validate_equipment(self, words: list[str]) -> list[str]:
        """Check each word against what the catalogue knows."""
        return known_words(words, registry.known_equipment, "equipment")

    def validate_load_steps(self, steps: list[dict[str, Any]]) -> dict[str, dict[str, str]]:
        """Return them as they are kept: by loading, the step as text."""
        kept = {
            step["loading"]: {unit: format(step[unit].normalize(), "f") for unit in _UNITS if unit in step}
            for step in steps
        }
        if len(kept) < len(steps):
            raise ValidationError("Name each loading once.", code="duplicate")
        return kept


class ShownLoadStepSerializer(serializers.Serializer[Any]):
    """The step in which one kind of load rises there, in the unit that it was sent in."""

    loading = serializers.CharField()
    step_kg = serializers.FloatField(allow_null=True)
    step_lb = serializers.FloatField(allow_null=True)


class PlaceSerializer(serializers.Serializer[Any]):
    """A place where a client trains."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    name = serializers.CharField()
    kind = serializers.ChoiceField(choices=PlaceKind.choices)
    equipment = serializers.ListField(child=serializers.CharField())
    load_steps = ShownLoadStepSerializer(many=True)
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


def show_place(row: Place) -> dict[str, Any]:
    """Return a place as it is read."""
    return {
        "id": row.id,
        "client": row.client_id,
        "name": row.name,
        "kind": row.kind,
        "equipment": row.equipment,
        "load_steps": [_step(loading, step) for loading, step in sorted(row.load_steps.items())],
        "row_version": row.row_version,
        "created_at": row.created_at,
    }


def show_places(rows: Sequence[Place]) -> list[dict[str, Any]]:
    """Return places as they are read."""
    return [show_place(row) for row in rows]


def _step(loading: str, step: Mapping[str, str]) -> dict[str, Any]:
    return {"loading": loading} | {unit: Decimal(step[unit]) if unit in step else None for unit in _UNITS}
