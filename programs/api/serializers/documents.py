"""The documents of prescriptions, for the documentation: `programs.prescription.document` reads and checks them."""

from collections.abc import Iterable
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from programs.api.serializers.accepted_loads import AcceptedLoadSerializer
from programs.api.serializers.exact_numbers import ExactNumberField
from programs.prescription.progression_fields import RULE_PARTS
from programs.prescription.vocabulary import BLOCK_KINDS, GOALS, REFERENCES, SET_KINDS

RULE_KINDS = tuple(RULE_PARTS)
LOAD_KINDS = ("absolute", "bodyweight", "percent", "relative_to_top", "same_as", "band")


def _choice(words: Iterable[str], **options: Any) -> serializers.ChoiceField:
    return serializers.ChoiceField(choices=list(words), **options)


class PrescribedLoadSerializer(serializers.Serializer[Any]):
    """A load by its kind: `load_kg` or `load_lb`; `of` and `pct`; `pct` of the top set; `slot_key`; `text`."""

    kind = _choice(LOAD_KINDS)
    load_kg = ExactNumberField(required=False)
    load_lb = ExactNumberField(required=False)
    of = _choice(REFERENCES, required=False)
    pct = ExactNumberField(required=False)
    slot_key = serializers.CharField(required=False)
    text = serializers.CharField(required=False)


class SegmentSerializer(serializers.Serializer[Any]):
    """A stretch of a cluster, rest-pause or drop set."""

    reps = serializers.IntegerField(required=False, allow_null=True)
    to_limit = serializers.BooleanField(required=False)
    rest_before_s = serializers.IntegerField(required=False)
    load_change_pct = ExactNumberField(required=False, allow_null=True)


class SetGroupSerializer(serializers.Serializer[Any]):
    """`count` equal sets. Repetitions, seconds, metres, kilocalories or segments; effort is `rpe` or `in_reserve`."""

    count = serializers.IntegerField(required=False, default=1)
    kind = _choice(SET_KINDS, required=False, default="work")
    reps_low = serializers.IntegerField(required=False, allow_null=True)
    reps_high = serializers.IntegerField(required=False, allow_null=True)
    duration_s = serializers.IntegerField(required=False, allow_null=True)
    distance_m = ExactNumberField(required=False, allow_null=True)
    calories_kcal = serializers.IntegerField(required=False, allow_null=True)
    to_limit = serializers.BooleanField(required=False)
    segments = SegmentSerializer(many=True, required=False)
    tempo = serializers.CharField(
        required=False,
        allow_null=True,
        help_text="Eccentric, lengthened pause, concentric, shortened pause: `41X1` or `4-1-X-1`.",
    )
    rpe = ExactNumberField(required=False, allow_null=True)
    in_reserve = ExactNumberField(required=False, allow_null=True)
    load = PrescribedLoadSerializer(required=False, allow_null=True)


class SlotSerializer(serializers.Serializer[Any]):
    """An exercise at its place in a block."""

    slot_key = serializers.CharField()
    exercise = serializers.CharField(help_text="Id or key; stored and returned as the key.")
    goal = _choice(GOALS, required=False, allow_null=True)
    per_side = serializers.BooleanField(required=False)
    rest_s = serializers.IntegerField(required=False, allow_null=True)
    notes = serializers.CharField(required=False)
    sets = SetGroupSerializer(many=True, required=False)


class EntrySerializer(serializers.Serializer[Any]):
    """A piece done once before a block's rounds."""

    exercise = serializers.CharField()
    duration_s = serializers.IntegerField(required=False, allow_null=True)
    distance_m = ExactNumberField(required=False, allow_null=True)
    calories_kcal = serializers.IntegerField(required=False, allow_null=True)


class BlockSerializer(serializers.Serializer[Any]):
    """Slots performed together."""

    kind = _choice(BLOCK_KINDS)
    label = serializers.CharField(required=False)  # type: ignore[assignment]  # the base class has one too
    slots = SlotSerializer(many=True)
    rounds = serializers.IntegerField(required=False, allow_null=True)
    work_s = serializers.IntegerField(required=False, allow_null=True)
    off_s = serializers.IntegerField(required=False, allow_null=True)
    minutes = serializers.IntegerField(required=False, allow_null=True)
    cap_min = serializers.IntegerField(required=False, allow_null=True)
    entry = EntrySerializer(required=False, allow_null=True)
    every_s = serializers.IntegerField(
        required=False, allow_null=True, help_text="Seconds from start to start of an every_minute block; 60 if unsaid."
    )
    rest_between_rounds_s = serializers.IntegerField(
        required=False, allow_null=True, help_text="The rest after a round's last set, in place of that slot's own."
    )


class SessionDocumentSerializer(serializers.Serializer[Any]):
    """A session on its own."""

    title = serializers.CharField(required=False)
    template_key = serializers.CharField(required=False)
    cap_min = serializers.IntegerField(required=False, allow_null=True)
    blocks = BlockSerializer(many=True)


class DayDocumentSerializer(serializers.Serializer[Any]):
    """A session at its place in a week; `template_key` names it across weeks and versions."""

    day_number = serializers.IntegerField()
    template_key = serializers.CharField()
    title = serializers.CharField(required=False)
    cap_min = serializers.IntegerField(required=False, allow_null=True)
    blocks = BlockSerializer(many=True)


class WeekDocumentSerializer(serializers.Serializer[Any]):
    """A week's sessions."""

    week_number = serializers.IntegerField()
    deload = serializers.BooleanField(required=False)
    days = DayDocumentSerializer(many=True, required=False)


class WaveWeekSerializer(serializers.Serializer[Any]):
    """What a week of a wave changes from the wave's first."""

    load_pct = ExactNumberField(required=False)
    reps = serializers.IntegerField(required=False)
    sets = serializers.IntegerField(required=False)


class ProgressionRuleSerializer(serializers.Serializer[Any]):
    """A rule that later weeks are made from week 1 by; `slot_keys` and `template_keys` say where, empty everywhere.

    `load_step` and `double_progression` take one of `step_kg`, `step_lb`, `step_pct`; `percent` takes `step_pct` or
    `pcts`; `deload` takes `every_weeks`, `sets_pct`, `load_pct` and, for blocks in rounds, `rounds_pct`.
    """

    kind = _choice(RULE_KINDS)
    slot_keys = serializers.ListField(child=serializers.CharField(), required=False)
    template_keys = serializers.ListField(child=serializers.CharField(), required=False)
    every_weeks = serializers.IntegerField(required=False)
    from_week = serializers.IntegerField(required=False, allow_null=True)
    to_week = serializers.IntegerField(required=False, allow_null=True)
    step_kg = ExactNumberField(required=False, allow_null=True)
    step_lb = ExactNumberField(required=False, allow_null=True)
    step_pct = ExactNumberField(required=False, allow_null=True)
    pcts = serializers.ListField(child=ExactNumberField(), required=False)
    step_reps = serializers.IntegerField(required=False)
    limit_reps = serializers.IntegerField(required=False, allow_null=True)
    reps_high = serializers.IntegerField(required=False)
    step_sets = serializers.IntegerField(required=False)
    limit_sets = serializers.IntegerField(required=False, allow_null=True)
    phase = serializers.CharField(required=False, help_text="eccentric, lengthened, concentric or shortened.")
    step_s = serializers.IntegerField(required=False)
    limit_s = serializers.IntegerField(required=False, allow_null=True)
    weeks = WaveWeekSerializer(many=True, required=False)
    sets_pct = ExactNumberField(required=False)
    rounds_pct = ExactNumberField(required=False, allow_null=True)
    load_pct = ExactNumberField(required=False)


class VersionContentSerializer(serializers.Serializer[Any]):
    """Everything that a version prescribes: the weeks, and beside them the rules that they were expanded by."""

    weeks = WeekDocumentSerializer(many=True)
    progression = ProgressionRuleSerializer(many=True, required=False)


class InsteadOfSerializer(serializers.Serializer[Any]):
    """The load that would stand there without the accepted one."""

    load = PrescribedLoadSerializer(allow_null=True)
    load_status = serializers.CharField()
    load_kg = serializers.CharField(allow_null=True)
    load_lb = serializers.CharField(allow_null=True)
    load_unit = serializers.CharField(allow_null=True)
    resolved_from = serializers.CharField()
    suggestion = serializers.CharField(allow_null=True)


class ResolvedSetGroupSerializer(SetGroupSerializer):
    """A set group with the client's own load. Numbers of loads are text, exact."""

    load_status = serializers.CharField(help_text="`resolved`, or why there is no figure.")
    load_kg = serializers.CharField(allow_null=True)
    load_lb = serializers.CharField(allow_null=True)
    load_unit = serializers.CharField(allow_null=True, help_text="The unit that the client loads in.")
    resolved_from = serializers.CharField()
    suggestion = serializers.CharField(allow_null=True)
    instead_of = InsteadOfSerializer(required=False, help_text="Only beside an accepted load.")


class ResolvedSlotSerializer(SlotSerializer):
    """A slot with the exercise's name, and the client's own loads."""

    exercise_name = serializers.CharField()
    load_basis = serializers.CharField()
    substituted_for = serializers.CharField(
        required=False, help_text="Key of the exercise in whose place it stands for this client."
    )
    substituted_for_name = serializers.CharField(required=False)
    added = serializers.BooleanField(required=False, help_text="Only true: the version has no such slot.")
    accepted_load = AcceptedLoadSerializer(required=False)
    sets = ResolvedSetGroupSerializer(many=True)


class ResolvedBlockSerializer(BlockSerializer):
    """A block as a client follows it."""

    slots = ResolvedSlotSerializer(many=True)


class PrescribedSessionSerializer(SessionDocumentSerializer):
    """A session as a client follows it, each load with what it was resolved from."""

    blocks = ResolvedBlockSerializer(many=True)


@extend_schema_field(SessionDocumentSerializer)
class SessionField(serializers.JSONField):
    """A session's document, handed on as it came."""


@extend_schema_field(VersionContentSerializer)
class ContentField(serializers.JSONField):
    """A version's document, handed on as it came."""


@extend_schema_field(SetGroupSerializer(many=True))
class SetGroupsField(serializers.JSONField):
    """The sets of a slot, handed on as they came."""
