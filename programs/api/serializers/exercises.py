"""Exercises, as they are read."""

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from coaching.http.fields import choices_of
from programs.catalogue.vocabulary import (
    Equipment,
    Laterality,
    LoadBasis,
    Loading,
    Measure,
    Muscle,
    Pattern,
    RestfulEnd,
    StartingEnd,
    Station,
)
from programs.models import Exercise, ExerciseOrigin


class PhaseWordsSerializer(serializers.Serializer[Any]):
    """What to say for each of the four phases."""

    eccentric = serializers.CharField()
    lengthened = serializers.CharField()
    concentric = serializers.CharField()
    shortened = serializers.CharField()


class ExerciseSerializer(serializers.Serializer[Any]):
    """An exercise of the business's catalogue; `key` is accepted wherever an exercise id is."""

    id = serializers.UUIDField()
    key = serializers.CharField()
    name = serializers.CharField()
    aliases = serializers.ListField(child=serializers.CharField())
    origin = serializers.ChoiceField(choices=ExerciseOrigin.choices)
    customised = serializers.BooleanField()
    pattern = serializers.ChoiceField(choices=choices_of(Pattern))
    starts_at = serializers.ChoiceField(
        choices=choices_of(StartingEnd), allow_null=True, help_text="The end where a repetition starts."
    )
    restful_end = serializers.ChoiceField(
        choices=choices_of(RestfulEnd), help_text="The end at which the muscle can rest inside a set."
    )
    rests_muscles = serializers.ListField(child=serializers.ChoiceField(choices=choices_of(Muscle)))
    primary_muscles = serializers.ListField(child=serializers.ChoiceField(choices=choices_of(Muscle)))
    secondary_muscles = serializers.ListField(child=serializers.ChoiceField(choices=choices_of(Muscle)))
    laterality = serializers.ChoiceField(choices=choices_of(Laterality))
    measure = serializers.ChoiceField(choices=choices_of(Measure))
    phase_words = PhaseWordsSerializer(allow_null=True)
    station = serializers.ChoiceField(choices=choices_of(Station))
    equipment = serializers.ListField(child=serializers.ChoiceField(choices=choices_of(Equipment)))
    load_basis = serializers.ChoiceField(choices=choices_of(LoadBasis))
    loading = serializers.ChoiceField(choices=choices_of(Loading))
    bodyweight_share = serializers.FloatField(help_text="Share of bodyweight that a repetition moves, 0 to 1.")
    repetition_s = serializers.FloatField(help_text="Usual seconds of one repetition without a tempo.")
    complexity = serializers.IntegerField(help_text="1 simple to 3 complex.")
    row_version = serializers.IntegerField()


_SHOWN = tuple(ExerciseSerializer().fields)


def show_exercise(row: Exercise) -> dict[str, Any]:
    """Return an exercise as it is read."""
    return {name: getattr(row, name) for name in _SHOWN} | {"starts_at": row.starts_at or None}


def show_exercises(rows: Sequence[Exercise]) -> list[dict[str, Any]]:
    """Return exercises as they are read."""
    return [show_exercise(row) for row in rows]
