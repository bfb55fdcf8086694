"""What one planned session has otherwise than its version: as it is asked for, and as it is read."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import BlockSerializer, SetGroupsField, SlotSerializer
from programs.prescription.session_edits import NewPlace, SlotEdit
from programs.prescription.vocabulary import GOALS

TAKE_OUT: Final = ("slot", "block")
"""What a slot_key can take out."""

_ONLY_ADDED: Final = frozenset({"goal", "per_side"})
_MADE_OF: Final = frozenset({"slot_key", "add", "take_out"})


class NewBlockSerializer(BlockSerializer):
    """A block, without its slots."""

    slots = None  # type: ignore[assignment]  # added one by one


@extend_schema_field(NewBlockSerializer)
class NewBlockField(serializers.JSONField):
    """A block without its slots, handed on as it came."""

    def to_internal_value(self, data: Any) -> Any:
        """Read a block; its slots are added one by one."""
        block = super().to_internal_value(data)
        if not isinstance(block, dict):
            raise ValidationError("Send an object.", code="wrong_type")
        if "slots" in block:
            sentence = "Leave slots out: the slot that is added is the first; add the others after it."
            raise ValidationError({"slots": [ErrorDetail(sentence, code="unknown_field")]})
        return block


class AddSlotSerializer(StrictSerializer):
    """Where an added slot comes: into the block of another slot, or with `block` as a block of its own next to it.

    A block without `after` or `before` comes last.
    """

    after = serializers.CharField(max_length=60, required=False, help_text="A slot_key of the session.")
    before = serializers.CharField(max_length=60, required=False, help_text="A slot_key of the session.")
    block = NewBlockField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that it says one place."""
        if not attrs:
            sentence = "Say where: after or before another slot, or with a block of its own."
            raise ValidationError({"after": [ErrorDetail(sentence, code="required")]})
        if {"after", "before"} <= attrs.keys():
            sentence = "Name one of after and before."
            raise ValidationError({"before": [ErrorDetail(sentence, code="one_place")]})
        return attrs


class SlotEditSerializer(StrictSerializer):
    """What a slot has otherwise in this one session; a slot_key alone puts it back as the program has it.

    `add` adds a slot under a slot_key of its own, `take_out` takes one out: what was logged for it stays, as extra
    sets. Edits of one call are judged together.
    """

    slot_key = serializers.CharField(max_length=60)
    add = AddSlotSerializer(required=False)
    take_out = serializers.ChoiceField(choices=TAKE_OUT, required=False, help_text="The slot, or all of its block.")
    exercise = serializers.CharField(max_length=60, required=False, help_text="Id or key.")
    goal = serializers.ChoiceField(choices=list(GOALS), required=False, help_text="Only of an added slot.")
    per_side = serializers.BooleanField(required=False, help_text="Only of an added slot.")
    sets = SetGroupsField(required=False, help_text="All sets of the slot, in the order performed.")
    rest_s = serializers.IntegerField(required=False, allow_null=True)
    notes = serializers.CharField(required=False, allow_blank=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Check that what belongs to an added slot is said of one, and that what is taken out is not changed too."""
        if "add" in attrs and "exercise" not in attrs:
            raise ValidationError({"exercise": [ErrorDetail("An added slot needs its exercise.", code="required")]})
        if "take_out" in attrs and attrs.keys() > {"slot_key", "take_out"}:
            sentence = "A slot is taken out or changed, not both; send take_out with its slot_key alone."
            raise ValidationError({"take_out": [ErrorDetail(sentence, code="one_change")]})
        if "add" not in attrs:
            sentence = "The program says this; only a slot that is added here brings its own."
            faults = {name: [ErrorDetail(sentence, code="only_added")] for name in sorted(_ONLY_ADDED & attrs.keys())}
            if faults:
                raise ValidationError(faults)
        return attrs


class SlotChangeSerializer(serializers.Serializer[Any]):
    """The changed fields of a slot."""

    exercise = serializers.CharField(required=False)
    sets = SetGroupsField(required=False)
    rest_s = serializers.IntegerField(required=False, allow_null=True)
    notes = serializers.CharField(required=False)


class AddedSlotsSerializer(serializers.Serializer[Any]):
    """Slots added one after the other: into the block of a slot of the program, or as a block next to it or last."""

    slots = SlotSerializer(many=True)
    block = NewBlockSerializer(required=False)
    after = serializers.CharField(required=False)
    before = serializers.CharField(required=False)


class DeloadChangeSerializer(serializers.Serializer[Any]):
    """The deload of one session; figures are text, exact."""

    sets_pct = serializers.CharField()
    load_pct = serializers.CharField()


class AcceptedLoadChangeSerializer(serializers.Serializer[Any]):
    """A load accepted for a slot, with the exercise and what the slot asked for then; else it is left out."""

    exercise = serializers.CharField()
    load_kg = serializers.CharField(required=False)
    load_lb = serializers.CharField(required=False)
    groups = serializers.ListField(child=serializers.IntegerField(), help_text="Places of its set groups, from 0.")
    asked = serializers.CharField(help_text="Digest of what the slot asked for.")
    advice = serializers.CharField()
    advised_on = serializers.DateField()
    accepted_at = serializers.DateTimeField()
    accepted_by = serializers.CharField()
    counts = serializers.ListField(
        child=serializers.IntegerField(), required=False, help_text="The most sets of each group, where accepted too."
    )
    rpe_most = serializers.CharField(required=False, help_text="The highest RPE, where accepted too.")


class SessionChangesSerializer(serializers.Serializer[Any]):
    """What one session has otherwise than its version: what is unset is left out."""

    added = AddedSlotsSerializer(many=True, required=False)
    removed = serializers.ListField(
        child=serializers.CharField(), required=False, help_text="The slot_keys of what is taken out."
    )
    swaps = serializers.DictField(
        child=serializers.CharField(), required=False, help_text="The exercise instead, by the exercise's key."
    )
    slots = serializers.DictField(child=SlotChangeSerializer(), required=False, help_text="By slot_key.")
    loads = serializers.DictField(
        child=AcceptedLoadChangeSerializer(), required=False, help_text="Loads accepted from advice, by slot_key."
    )
    deload = DeloadChangeSerializer(required=False)


def slot_edits(slots: Sequence[Mapping[str, Any]] | None) -> list[SlotEdit] | None:
    """Return a body's edits of slots; None takes all changes back."""
    if slots is None:
        return None
    return [
        SlotEdit(
            slot_key=slot["slot_key"],
            fields={name: value for name, value in slot.items() if name not in _MADE_OF},
            place=_place(slot["add"]) if "add" in slot else None,
            take_out=slot.get("take_out"),
        )
        for slot in slots
    ]


def _place(add: Mapping[str, Any]) -> NewPlace:
    return NewPlace(block=add.get("block"), beside=add.get("before", add.get("after")), before="before" in add)
