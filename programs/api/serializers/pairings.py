"""Pairings, as they are asked for and returned."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, get_args

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from programs.api.serializers.documents import SessionDocumentSerializer, SlotSerializer
from programs.api.serializers.figures import figures_of
from programs.api.serializers.prescriptions import TimelineSerializer, show_timeline
from programs.prescription.document import encode_session
from programs.prescription.findings import Finding
from programs.prescription.pairing_cuts import SetCut
from programs.prescription.pairings import Pairing, PairingBlock, PairingCuts, PairingKind
from programs.prescription.rests import EffectiveRest
from programs.prescription.structure import ExerciseFacts
from programs.prescription.timeline_policy import PLACES

KINDS = get_args(PairingKind)
CAUTIONS = (
    "Times are simulated from what is written, and from assumptions where nothing is; people differ.",
    "Pairings are suggestions for a coach's judgement. They do not say that a session is safe for a person.",
)


class ExerciseToPairSerializer(SlotSerializer):
    """An exercise to place: a slot without its key. `rest_s` is the rest wanted between its own sets."""

    slot_key = None  # type: ignore[assignment]  # taken away: keys are given by place


@extend_schema_field(ExerciseToPairSerializer)
class ExerciseToPairField(serializers.JSONField):
    """An exercise's document, handed on as it came."""


class PairingsSerializer(StrictSerializer):
    """Exercises to place in blocks; nothing is stored."""

    exercises = serializers.ListField(
        child=ExerciseToPairField(), min_length=1, help_text="At most 12, in the order wanted, which breaks ties."
    )
    minutes = serializers.IntegerField(
        required=False, min_value=5, max_value=300, help_text="The minutes there are; before the client's own."
    )
    client = serializers.UUIDField(required=False, help_text="Whose minutes it is to fit.")
    place = serializers.ChoiceField(choices=PLACES, required=False, default="gym")
    novice = serializers.BooleanField(required=False, default=False, help_text="Under 6 months of training.")


class PairingBlockSerializer(serializers.Serializer[Any]):
    """One block: its exercises by their places as given, the rest between any two sets, its seconds, and why."""

    label = serializers.CharField()  # type: ignore[assignment]  # the base class has one too
    exercise_indexes = serializers.ListField(child=serializers.IntegerField())
    exercise_names = serializers.ListField(child=serializers.CharField())
    rest_s = serializers.IntegerField()
    low_s = serializers.IntegerField()
    high_s = serializers.IntegerField()
    reasons = serializers.ListField(child=serializers.CharField())


class PairingCutsSerializer(serializers.Serializer[Any]):
    """The fewest sets whose loss makes it fit, accessories first; none where no cut is enough."""

    reason = serializers.CharField()
    cuts = figures_of(SetCut)(many=True)
    session = SessionDocumentSerializer(allow_null=True)
    timeline = TimelineSerializer(allow_null=True)


class PairingSerializer(serializers.Serializer[Any]):
    """One way of placing the exercises, with its session ready to be put in a program."""

    kind = serializers.ChoiceField(choices=KINDS)
    fits = serializers.BooleanField(allow_null=True, help_text="Null where no minutes are known.")
    over_min = serializers.FloatField(allow_null=True)
    saved_min = serializers.FloatField(help_text="Against straight sets with the same rests wanted.")
    session = SessionDocumentSerializer()
    blocks = PairingBlockSerializer(many=True)
    timeline = TimelineSerializer()
    effective_rests = serializers.DictField(child=figures_of(EffectiveRest)(), help_text="By slot_key.")
    muscle_rests = serializers.DictField(child=figures_of(EffectiveRest)(), help_text="By primary muscle.")
    findings = figures_of(Finding)(many=True)
    cuts = PairingCutsSerializer(allow_null=True)


class PairingsAnswerSerializer(serializers.Serializer[Any]):
    """Pairings, quickest first."""

    pairings = PairingSerializer(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


def show_pairings(pairings: list[Pairing], facts: Mapping[str, ExerciseFacts]) -> dict[str, Any]:
    """Return pairings as they are read."""
    return {"pairings": [_show(pairing, facts) for pairing in pairings], "cautions": list(CAUTIONS)}


def _show(pairing: Pairing, facts: Mapping[str, ExerciseFacts]) -> dict[str, Any]:
    return {
        "kind": pairing.kind,
        "fits": pairing.fits,
        "over_min": pairing.over_min,
        "saved_min": pairing.saved_min,
        "session": encode_session(pairing.session),
        "blocks": [_show_block(block, facts) for block in pairing.blocks],
        "timeline": show_timeline(pairing.timeline, with_events=True),
        "effective_rests": {key: asdict(rest) for key, rest in pairing.timeline.effective_rests.items()},
        "muscle_rests": {muscle: asdict(rest) for muscle, rest in pairing.timeline.muscle_rests.items()},
        "findings": [asdict(finding) for finding in pairing.findings],
        "cuts": None if pairing.cuts is None else _show_cuts(pairing.cuts),
    }


def _show_block(block: PairingBlock, facts: Mapping[str, ExerciseFacts]) -> dict[str, Any]:
    return {
        "label": block.block.label,
        "exercise_indexes": list(block.exercise_indexes),
        "exercise_names": [facts[slot.exercise].name for slot in block.block.slots],
        "rest_s": block.rest_s,
        "low_s": block.low_s,
        "high_s": block.high_s,
        "reasons": list(block.reasons),
    }


def _show_cuts(cuts: PairingCuts) -> dict[str, Any]:
    return {
        "reason": cuts.reason,
        "cuts": [asdict(cut) for cut in cuts.cuts],
        "session": None if cuts.session is None else encode_session(cuts.session),
        "timeline": None if cuts.timeline is None else show_timeline(cuts.timeline, with_events=False),
    }
