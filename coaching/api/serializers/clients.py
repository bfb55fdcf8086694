"""Clients, as they are read and changed."""

from typing import Any

from rest_framework import serializers

from coaching import registry
from coaching.api.serializers.places import known_words
from coaching.http.fields import TimeZoneField, WeekdaysField, WordField
from coaching.http.unknown_fields import StrictSerializer
from coaching.models.businesses import Unit
from coaching.models.clients import ClientState
from coaching.screening.care_groups import CARE_GROUPS

_WORDS_AT_MOST = 60


class ClientInSerializer(StrictSerializer):
    """A client to take on; the business's time zone and unit hold where none is sent."""

    name = serializers.CharField(max_length=200)
    email = serializers.EmailField(max_length=254, required=False, allow_blank=True)
    birth_date = serializers.DateField(required=False, allow_null=True)
    coach = serializers.UUIDField(required=False, help_text="A coach's id; your own where it is left out.")
    viewers = serializers.ListField(
        child=serializers.UUIDField(),
        max_length=_WORDS_AT_MOST,
        required=False,
        help_text="Active viewers of the team who may read this client; the whole list, as it shall be.",
    )
    time_zone = TimeZoneField(required=False)
    unit = serializers.ChoiceField(choices=Unit.choices, required=False)
    equipment = serializers.ListField(child=WordField(max_length=40), max_length=_WORDS_AT_MOST, required=False)
    avoided_movements = serializers.ListField(
        child=WordField(max_length=60),
        max_length=_WORDS_AT_MOST,
        required=False,
        help_text="Movement patterns or keys of exercises.",
    )
    max_complexity = serializers.IntegerField(min_value=1, max_value=3, required=False)
    session_min = serializers.IntegerField(min_value=10, max_value=240, required=False, allow_null=True)
    weekdays = WeekdaysField(required=False)
    max_hr_bpm = serializers.IntegerField(
        min_value=100, max_value=230, required=False, allow_null=True, help_text="Measured, never estimated from age."
    )
    care_groups = serializers.ListField(
        child=WordField(max_length=40),
        max_length=20,
        required=False,
        help_text=f"Any of {', '.join(CARE_GROUPS)}; what is said of somebody with one is cut accordingly.",
    )
    missed_notes = serializers.BooleanField(required=False, help_text="Opted in to notes of missed sessions.")
    training_since = serializers.DateField(required=False, allow_null=True)
    state = serializers.ChoiceField(choices=ClientState.choices, required=False)

    def validate_equipment(self, words: list[str]) -> list[str]:
        """Check each word against what the catalogue knows."""
        return known_words(words, registry.known_equipment, "equipment")

    def validate_care_groups(self, words: list[str]) -> list[str]:
        """Check each word: one misspelt would switch nothing off, and nobody would notice."""
        return known_words(words, set(CARE_GROUPS), "care_group")


class ClientSerializer(serializers.Serializer[Any]):
    """A client."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    email = serializers.CharField(help_text="Empty where none is known.")
    birth_date = serializers.DateField(allow_null=True)
    coach = serializers.UUIDField()
    viewers = serializers.ListField(
        child=serializers.UUIDField(),
        required=False,
        help_text="Who else may read this client; not told to the client.",
    )
    time_zone = serializers.CharField()
    unit = serializers.ChoiceField(choices=Unit.choices)
    equipment = serializers.ListField(child=serializers.CharField())
    avoided_movements = serializers.ListField(child=serializers.CharField())
    max_complexity = serializers.IntegerField()
    session_min = serializers.IntegerField(allow_null=True)
    weekdays = serializers.ListField(child=serializers.IntegerField())
    max_hr_bpm = serializers.IntegerField(allow_null=True)
    care_groups = serializers.ListField(child=serializers.CharField())
    missed_notes = serializers.BooleanField()
    training_since = serializers.DateField(allow_null=True)
    state = serializers.ChoiceField(choices=ClientState.choices)
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
