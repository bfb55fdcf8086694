"""Exercises, as they are read, and as the documentation has what is sent: the catalogue's own reader checks it."""

from collections.abc import Sequence
from enum import StrEnum
from typing import Any

from rest_framework import serializers

from coaching.http.fields import choices_of
from coaching.http.unknown_fields import StrictSerializer
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


def _choice(words: type[StrEnum], **options: Any) -> serializers.ChoiceField:
    return serializers.ChoiceField(choices=choices_of(words), **options)


def _muscles(**options: Any) -> serializers.ListField:
    return serializers.ListField(child=_choice(Muscle), **options)


class ExerciseChangeSerializer(StrictSerializer):
    """What the business says otherwise of an exercise; `read_entry` checks that it makes sense as a whole."""

    name = serializers.CharField(required=False)
    aliases = serializers.ListField(child=serializers.CharField(), required=False)
    pattern = _choice(Pattern, required=False)
    starts_at = _choice(StartingEnd, required=False, allow_null=True)
    restful_end = _choice(RestfulEnd, required=False)
    rests_muscles = _muscles(required=False)
    primary_muscles = _muscles(required=False)
    secondary_muscles = _muscles(required=False)
    laterality = _choice(Laterality, required=False)
    phase_words = PhaseWordsSerializer(required=False, allow_null=True)
    station = _choice(Station, required=False)
    equipment = serializers.ListField(child=_choice(Equipment), required=False)
    loading = _choice(Loading, required=False)
    bodyweight_share = serializers.FloatField(required=False)
    repetition_s = serializers.FloatField(required=False)
    complexity = serializers.IntegerField(required=False)


class ExerciseInSerializer(StrictSerializer):
    """An exercise of the business's own; its fields make sense together as those of the shared ones do."""

    key = serializers.CharField(max_length=60, help_text="Lower-case words joined by hyphens; it never changes.")
    name = serializers.CharField()
    aliases = serializers.ListField(child=serializers.CharField(), required=False)
    pattern = _choice(Pattern)
    starts_at = _choice(StartingEnd, allow_null=True)
    restful_end = _choice(RestfulEnd)
    rests_muscles = _muscles(required=False)
    primary_muscles = _muscles()
    secondary_muscles = _muscles(required=False)
    laterality = _choice(Laterality)
    measure = _choice(Measure, help_text="It never changes.")
    phase_words = PhaseWordsSerializer(allow_null=True)
    station = _choice(Station)
    equipment = serializers.ListField(child=_choice(Equipment), required=False)
    load_basis = _choice(LoadBasis, help_text="It never changes.")
    loading = _choice(Loading)
    bodyweight_share = serializers.FloatField()
    repetition_s = serializers.FloatField()
    complexity = serializers.IntegerField()


class MergeSerializer(StrictSerializer):
    """The exercise that stays."""

    into = serializers.CharField(max_length=64, help_text="Id or key.")


_SHOWN = tuple(ExerciseSerializer().fields)


def show_exercise(row: Exercise) -> dict[str, Any]:
    """Return an exercise as it is read."""
    return {name: getattr(row, name) for name in _SHOWN} | {"starts_at": row.starts_at or None}


def show_exercises(rows: Sequence[Exercise]) -> list[dict[str, Any]]:
    """Return exercises as they are read."""
    return [show_exercise(row) for row in rows]
