"""The answers about log batches and held items, for the documentation: they are written as they are."""

from typing import Any

from rest_framework import serializers

from logs.actions.log_fields import KINDS

OUTCOMES = ("created", "unchanged", "corrected", "refused", "held", "not_stored")
_Shown = serializers.Serializer[Any]


class SummarySerializer(_Shown):
    """How many items met which end."""

    created = serializers.IntegerField()
    unchanged = serializers.IntegerField()
    corrected = serializers.IntegerField()
    refused = serializers.IntegerField()
    held = serializers.IntegerField(help_text="Sets that wait for their session, 30 days at most.")


class ItemFaultSerializer(_Shown):
    """One thing wrong with an item."""

    pointer = serializers.CharField(help_text="Such as `#/set_logs/3/load_kg`.")
    code = serializers.CharField()
    detail = serializers.CharField()


class ItemProblemSerializer(_Shown):
    """Why an item was refused: every fault of it."""

    type = serializers.CharField()
    code = serializers.CharField()
    detail = serializers.CharField()
    errors = ItemFaultSerializer(many=True)  # type: ignore[assignment]  # a field of that name, which the metaclass takes


class ItemOutcomeSerializer(_Shown):
    """What became of an item."""

    kind = serializers.ChoiceField(choices=KINDS)
    index = serializers.IntegerField(help_text="Its place in its list.")
    external_id = serializers.CharField()
    outcome = serializers.ChoiceField(choices=OUTCOMES)
    id = serializers.UUIDField(allow_null=True)
    problem = ItemProblemSerializer(required=False)
    superseded = serializers.BooleanField(required=False, help_text="What is stored is newer; nothing changed.")
    waits_for = serializers.CharField(required=False, help_text="The session's external id.")
    notes = serializers.ListField(child=serializers.CharField(), required=False)


class CautionSerializer(_Shown):
    """What must be said at once about an item: plain words, no diagnosis."""

    client = serializers.CharField(allow_null=True, help_text="None where the item names no client of yours.")
    pointer = serializers.CharField()
    action = serializers.CharField()
    urgency = serializers.CharField()
    text = serializers.CharField()


class RecordedBatchSerializer(_Shown):
    """What became of a batch."""

    id = serializers.UUIDField()
    summary = SummarySerializer()
    items = ItemOutcomeSerializer(many=True)
    cautions = CautionSerializer(many=True)


class LogBatchSerializer(_Shown):
    """A batch received."""

    id = serializers.UUIDField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which the metaclass takes
    received_at = serializers.DateTimeField()
    summary = SummarySerializer()


class BatchProblemSerializer(_Shown):
    """An item of a batch that was refused or held."""

    kind = serializers.ChoiceField(choices=KINDS)
    index = serializers.IntegerField()
    client = serializers.UUIDField(allow_null=True, help_text="The id that it named; null for none.")
    external_id = serializers.CharField(help_text="Empty where the client was erased.")
    outcome = serializers.ChoiceField(choices=OUTCOMES)
    detail = serializers.CharField()
    errors = ItemFaultSerializer(many=True)  # type: ignore[assignment]  # a field of that name, which the metaclass takes


class LogBatchDetailSerializer(LogBatchSerializer):
    """A batch received, with the first 500 of its problems."""

    problems = BatchProblemSerializer(many=True)


class HeldItemSerializer(_Shown):
    """A set that waits for its session."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which the metaclass takes
    external_id = serializers.CharField()
    session_external_id = serializers.CharField()
    item = serializers.DictField(help_text="The set as it was last sent.")
    received_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
