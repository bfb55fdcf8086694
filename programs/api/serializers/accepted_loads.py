"""Loads that were accepted from advice, as a session's document shows them."""

from typing import Any

from rest_framework import serializers

from programs.prescription.vocabulary import SET_KINDS


class SetsBeforeSerializer(serializers.Serializer[Any]):
    """What a set group asks for without what was accepted."""

    count = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=list(SET_KINDS))
    to_limit = serializers.BooleanField()
    rpe = serializers.CharField(allow_null=True)
    in_reserve = serializers.CharField(allow_null=True)


class AcceptedLoadSerializer(serializers.Serializer[Any]):
    """A load that was accepted from advice for this one session."""

    load_kg = serializers.CharField()
    advised_on = serializers.DateField()
    advice = serializers.CharField()
    accepted_at = serializers.DateTimeField()
    accepted_by = serializers.CharField(help_text="The coach's membership; empty for none.")
    sets_before = SetsBeforeSerializer(
        many=True, required=False, help_text="Only where sets and effort were accepted too: the groups without that."
    )
