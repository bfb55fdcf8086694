"""Conditioning results, as they are read."""

from dataclasses import asdict
from typing import Any, Final

from rest_framework import serializers

from logs.analysis.conditioning_results import BlockResult
from logs.analysis.rowing_results import PieceSession
from logs.selectors.conditioning import BlockHistory, ConditioningHistory, PieceHistory

METHOD: Final = (
    "Only blocks that ask for exactly the same, and pieces as many and over the same metres or seconds within 5 %, are "
    "compared, with the median of at most three earlier ones (practice); deloads are marked and left out. Rowing power "
    "is 2.80 / p^3 watts with p in seconds a metre (trade fact, several agreeing pages), each piece by its own pace."
)


class BlockResultSerializer(serializers.Serializer[Any]):
    """What a conditioning block came to once."""

    local_date = serializers.DateField()
    deload = serializers.BooleanField()
    rounds = serializers.FloatField(allow_null=True)
    rounds_from = serializers.CharField(allow_null=True, help_text="logged, or counted_sets (whole rounds only).")
    time_s = serializers.FloatField(allow_null=True, help_text="Rounds for time only.")
    finished = serializers.BooleanField(allow_null=True, help_text="Rounds for time: whether all were done.")
    repetitions = serializers.IntegerField()
    distance_m = serializers.FloatField()
    calories_kcal = serializers.FloatField()
    missing = serializers.CharField(help_text="What could not be told; empty when nothing is missing.")


class ResultComparisonSerializer(serializers.Serializer[Any]):
    """The latest result against earlier ones of the same block."""

    sentence = serializers.CharField()
    measure = serializers.CharField(allow_null=True)
    results = serializers.IntegerField(help_text="Results compared, the latest among them.")
    latest = serializers.FloatField(allow_null=True)
    earlier = serializers.FloatField(allow_null=True)
    change_ratio = serializers.FloatField(allow_null=True)


class BlockSlotSerializer(serializers.Serializer[Any]):
    """A slot of a block."""

    slot = serializers.CharField()
    exercise = serializers.CharField()
    asked = serializers.CharField(help_text="What one round asks of it.")


class BlockHistorySerializer(serializers.Serializer[Any]):
    """A block's results over time."""

    template_key = serializers.CharField()
    title = serializers.CharField()
    block_number = serializers.IntegerField()
    letter = serializers.CharField()
    kind = serializers.CharField()
    rounds = serializers.IntegerField(allow_null=True)
    duration_min = serializers.IntegerField(allow_null=True)
    work_s = serializers.IntegerField(allow_null=True)
    off_s = serializers.IntegerField(allow_null=True)
    cap_min = serializers.IntegerField(allow_null=True)
    slots = BlockSlotSerializer(many=True)
    results = BlockResultSerializer(many=True, help_text="Oldest first.")
    comparison = ResultComparisonSerializer()


class PieceSessionSerializer(serializers.Serializer[Any]):
    """One session's pieces of one exercise."""

    local_date = serializers.DateField()
    deload = serializers.BooleanField()
    pieces = serializers.IntegerField()
    distance_m = serializers.FloatField()
    duration_s = serializers.FloatField()
    calories_kcal = serializers.FloatField()
    split_s = serializers.FloatField(allow_null=True, help_text="Rowing: seconds for 500 m.")
    power_w = serializers.FloatField(allow_null=True, help_text="Rowing: watts.")
    metres_per_min = serializers.FloatField(allow_null=True)
    kcal_per_min = serializers.FloatField(allow_null=True)
    missing = serializers.CharField(help_text="Why there is neither pace nor rate; empty when there is one.")


class PieceComparisonSerializer(serializers.Serializer[Any]):
    """The latest session's pieces against earlier equal ones."""

    sentence = serializers.CharField()
    measure = serializers.CharField(allow_null=True)
    sessions = serializers.IntegerField(help_text="Sessions compared, the latest among them.")
    latest = serializers.FloatField(allow_null=True)
    earlier = serializers.FloatField(allow_null=True)
    change_ratio = serializers.FloatField(allow_null=True)


class PieceHistorySerializer(serializers.Serializer[Any]):
    """An exercise's pieces over time."""

    exercise = serializers.CharField()
    name = serializers.CharField()
    sessions = PieceSessionSerializer(many=True, help_text="Oldest first.")
    comparison = PieceComparisonSerializer()


class ConditioningHistorySerializer(serializers.Serializer[Any]):
    """A client's conditioning."""

    client = serializers.UUIDField()
    since = serializers.DateField(help_text="First day of the first week.")
    blocks = BlockHistorySerializer(many=True)
    exercises = PieceHistorySerializer(many=True)
    method = serializers.CharField()


def show_conditioning(found: ConditioningHistory) -> dict[str, Any]:
    """Return a client's conditioning as it is read."""
    return {
        "client": found.client_id,
        "since": found.since,
        "blocks": [_block(history) for history in found.blocks],
        "exercises": [_piece(history) for history in found.exercises],
        "method": METHOD,
    }


def _block(history: BlockHistory) -> dict[str, Any]:
    block = history.block
    return {
        "template_key": block.template_key,
        "title": history.title,
        "block_number": block.block_number,
        "letter": block.label,
        "kind": block.kind,
        "rounds": block.rounds,
        "duration_min": block.minutes,
        "work_s": block.work_s,
        "off_s": block.off_s,
        "cap_min": block.cap_min,
        "slots": [{"slot": slot.slot_key, "exercise": slot.exercise, "asked": slot.asked} for slot in block.slots],
        "results": [_result(result) for result in history.results],
        "comparison": asdict(history.comparison),
    }


def _result(result: BlockResult) -> dict[str, Any]:
    return _named(asdict(result))


def _piece(history: PieceHistory) -> dict[str, Any]:
    return {
        "exercise": history.exercise,
        "name": history.name,
        "sessions": [_session(session) for session in history.sessions],
        "comparison": asdict(history.comparison),
    }


def _session(session: PieceSession) -> dict[str, Any]:
    return _named(asdict(session))


def _named(shown: dict[str, Any]) -> dict[str, Any]:
    """Name amounts as logs do."""
    renamed = {"metres": "distance_m", "seconds": "duration_s", "kilocalories": "calories_kcal"}
    return {renamed.get(name, name): value for name, value in shown.items()}
