"""The card of a planned session, as JSON."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from rest_framework import serializers

from coaching.models.businesses import Unit
from coaching.screening.red_flags import URGENCIES
from programs.api.serializers.figures import figures_of
from programs.documents.card_dates import length_words, place_words, when_words
from programs.documents.card_loads import CardLoad, bar_words
from programs.documents.session_card import CardExercise, CardSet, SessionCard
from programs.documents.timeline_drawing import draw_timeline
from programs.models import PlannedState
from programs.prescription.plates import BarLoading
from programs.prescription.session_pace import PacedTime
from programs.prescription.vocabulary import BLOCK_KINDS, SET_KINDS

_DRAWING_WIDTH = 560


def _choice(words: Iterable[str]) -> serializers.ChoiceField:
    return serializers.ChoiceField(choices=list(words))


class CardPlatesSerializer(serializers.Serializer[Any]):
    """What goes on one bar; the members end in `_kg` or in `_lb`, as the client loads."""

    words = serializers.CharField()
    bar_kg = serializers.FloatField(required=False)
    per_side_kg = serializers.ListField(child=serializers.FloatField(), required=False)
    made_kg = serializers.FloatField(required=False, help_text="What bar and plates weigh together.")
    left_over_kg = serializers.FloatField(required=False, help_text="What of the load the plates cannot make.")
    bar_lb = serializers.FloatField(required=False)
    per_side_lb = serializers.ListField(child=serializers.FloatField(), required=False)
    made_lb = serializers.FloatField(required=False)
    left_over_lb = serializers.FloatField(required=False)


class CardLoadSerializer(serializers.Serializer[Any]):
    """A load in the client's unit."""

    status = serializers.CharField(help_text="`resolved`, or why there is no figure.")
    words = serializers.CharField()
    load_kg = serializers.FloatField(required=False, allow_null=True)
    load_lb = serializers.FloatField(required=False, allow_null=True)
    origin = serializers.CharField(help_text="What it was resolved from; empty where that adds nothing.")
    suggestion = serializers.CharField()
    plates = CardPlatesSerializer(many=True, help_text="For each usual bar; none where no straight bar is loaded.")


class CardSetSerializer(serializers.Serializer[Any]):
    """Equal sets."""

    count = serializers.IntegerField(allow_null=True, help_text="Null where the block's rounds or clock decide.")
    kind = _choice(SET_KINDS)
    amount = serializers.CharField()
    effort = serializers.CharField()
    tempo = serializers.CharField()
    load = CardLoadSerializer()


class CardTempoSerializer(serializers.Serializer[Any]):
    """A tempo as written, and in the order in which this lift is performed."""

    written = serializers.CharField()
    performed = serializers.CharField(help_text="Empty for an exercise without phases.")


class CardExerciseSerializer(serializers.Serializer[Any]):
    """An exercise at its place."""

    slot_key = serializers.CharField()
    exercise = serializers.CharField()
    name = serializers.CharField()
    instead_of = serializers.CharField(help_text="Name of the exercise that it stands in for; empty for none.")
    added = serializers.BooleanField(help_text="Whether the program has no such exercise here.")
    tempos = CardTempoSerializer(many=True)
    sets = CardSetSerializer(many=True)
    rest_s = serializers.IntegerField(allow_null=True, help_text="Null where the block's clock gives the rest.")
    rest_assumed = serializers.BooleanField()
    rest = serializers.CharField()
    notes = serializers.CharField()


class CardBlockSerializer(serializers.Serializer[Any]):
    """Exercises done together."""

    kind = _choice(BLOCK_KINDS)
    label = serializers.CharField()  # type: ignore[assignment]  # the base class has one too
    how = serializers.CharField(help_text="How the block is done, in words.")
    first = serializers.ListField(child=serializers.CharField(), help_text="What comes before its first set.")
    exercises = CardExerciseSerializer(many=True)


class CardClientSerializer(serializers.Serializer[Any]):
    """Whose card it is."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    unit = serializers.ChoiceField(choices=Unit.choices)


class CardTimelineSerializer(serializers.Serializer[Any]):
    """How long it takes, and the drawing of it."""

    low_min = serializers.FloatField()
    high_min = serializers.FloatField()
    svg = serializers.CharField(help_text="An SVG document without script, style or links.")


class StopSignsSerializer(serializers.Serializer[Any]):
    """Signs on which to stop, and what to do about them."""

    urgency = _choice(URGENCIES)
    heading = serializers.CharField()
    signs = serializers.ListField(child=serializers.CharField())


class SessionCardSerializer(serializers.Serializer[Any]):
    """A planned session as its client follows it, in words ready to be shown."""

    planned_session = serializers.UUIDField()
    business = serializers.CharField()
    client = CardClientSerializer()
    title = serializers.CharField()
    state = serializers.ChoiceField(choices=PlannedState.choices)
    week_number = serializers.IntegerField()
    day_number = serializers.IntegerField()
    deload = serializers.BooleanField()
    local_date = serializers.DateField()
    window_start = serializers.DateField()
    window_end = serializers.DateField()
    cap_min = serializers.IntegerField(allow_null=True)
    when = serializers.CharField()
    place = serializers.CharField()
    length = serializers.CharField()
    equipment = serializers.ListField(child=serializers.CharField())
    blocks = CardBlockSerializer(many=True)
    timeline = CardTimelineSerializer()
    pace = figures_of(PacedTime)(help_text="The time at the client's usual pace, beside the timeline.")
    held = serializers.ListField(child=serializers.CharField(), help_text="What is held for pain, in sentences.")
    cautions = StopSignsSerializer(many=True)
    caution = serializers.CharField()


def show_card(card: SessionCard) -> dict[str, Any]:
    """Return a card as it is read."""
    return {
        "planned_session": card.planned_session_id,
        "business": card.business_name,
        "client": {"id": card.client_id, "name": card.client_name, "unit": card.unit},
        "title": card.title,
        "state": card.state,
        "week_number": card.week_number,
        "day_number": card.day_number,
        "deload": card.deload,
        "local_date": card.local_date,
        "window_start": card.window_start,
        "window_end": card.window_end,
        "cap_min": card.cap_min,
        "when": when_words(card),
        "place": place_words(card),
        "length": length_words(card),
        "equipment": card.equipment,
        "blocks": [
            {
                "kind": block.kind,
                "label": block.label,
                "how": block.how,
                "first": block.first,
                "exercises": [_exercise(exercise) for exercise in block.exercises],
            }
            for block in card.blocks
        ],
        "timeline": {
            "low_min": card.timeline.low_min,
            "high_min": card.timeline.high_min,
            "svg": draw_timeline(card.session, card.timeline, width=_DRAWING_WIDTH).svg,
        },
        "pace": asdict(card.pace),
        "held": card.held,
        "cautions": [
            {"urgency": group.urgency, "heading": group.heading, "signs": group.signs} for group in card.cautions
        ],
        "caution": card.caution,
    }


def _exercise(exercise: CardExercise) -> dict[str, Any]:
    return {
        "slot_key": exercise.slot_key,
        "exercise": exercise.exercise,
        "name": exercise.name,
        "instead_of": exercise.instead_of,
        "added": exercise.added,
        "tempos": [{"written": tempo.written, "performed": tempo.performed} for tempo in exercise.tempos],
        "sets": [_set(line) for line in exercise.sets],
        "rest_s": exercise.rest_s,
        "rest_assumed": exercise.rest_assumed,
        "rest": exercise.rest,
        "notes": exercise.notes,
    }


def _set(line: CardSet) -> dict[str, Any]:
    return {
        "count": line.count,
        "kind": line.kind,
        "amount": str(line.amount),
        "effort": line.effort,
        "tempo": line.tempo,
        "load": _load(line.load),
    }


def _load(load: CardLoad) -> dict[str, Any]:
    return {
        "status": load.status,
        "words": load.words,
        f"load_{load.unit}": load.value,
        "origin": load.origin,
        "suggestion": load.suggestion,
        "plates": [_plates(bar) for bar in load.plates],
    }


def _plates(bar: BarLoading) -> dict[str, Any]:
    return {
        "words": bar_words(bar),
        f"bar_{bar.unit}": bar.bar,
        f"per_side_{bar.unit}": bar.per_side,
        f"made_{bar.unit}": bar.made,
        f"left_over_{bar.unit}": bar.left_over,
    }
