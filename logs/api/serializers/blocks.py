"""Two training blocks side by side, as they are read."""

from dataclasses import asdict
from typing import Any, Final

from rest_framework import serializers

from logs.analysis.training_blocks import BlockSpan
from logs.selectors.blocks import BlocksSideBySide

METHOD: Final = (
    "Means over the weeks that have the figure; medians over weeks for lift lines. Deload weeks, weeks in which the "
    "client was ill or away, and weeks not over yet are left out, and so is the session load of weeks with unknown "
    "days (practice)."
)
CAUTIONS: Final = (
    "A description of two blocks, not of what caused the difference: much else changes between them.",
    "Lift values are estimates, comparable only within one line.",
)


class BlockSpanSerializer(serializers.Serializer[Any]):
    """A block's weeks."""

    first = serializers.DateField()
    last = serializers.DateField()
    weeks = serializers.IntegerField(help_text="Weeks in the means.")
    deload_weeks = serializers.IntegerField(help_text="Left out.")
    away_weeks = serializers.IntegerField(help_text="The client was ill or away on a day of them; left out.")
    unfinished_weeks = serializers.IntegerField(help_text="Not over yet; left out.")


class FigureComparisonSerializer(serializers.Serializer[Any]):
    """One figure in both blocks."""

    name = serializers.CharField()
    value = serializers.FloatField(allow_null=True)
    weeks = serializers.IntegerField()
    with_value = serializers.FloatField(allow_null=True)
    with_weeks = serializers.IntegerField()
    difference = serializers.FloatField(allow_null=True)
    change_ratio = serializers.FloatField(allow_null=True)
    reason = serializers.CharField(help_text="known, missing_in_first, missing_in_second or missing_in_both.")


class BlocksSerializer(serializers.Serializer[Any]):
    """Two blocks side by side."""

    client = serializers.UUIDField()
    block = BlockSpanSerializer()
    with_block = BlockSpanSerializer()
    figures = FigureComparisonSerializer(many=True, help_text="Of a mean week.")
    lifts = FigureComparisonSerializer(many=True, help_text="In kilograms, by lift line.")
    method = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


def show_blocks(found: BlocksSideBySide) -> dict[str, Any]:
    """Return two blocks as they are read."""
    return {
        "client": found.client_id,
        "block": _span(found.block),
        "with_block": _span(found.with_block),
        "figures": [asdict(figure) for figure in found.figures],
        "lifts": [asdict(lift) for lift in found.lifts],
        "method": METHOD,
        "cautions": list(CAUTIONS),
    }


def _span(span: BlockSpan) -> dict[str, Any]:
    return {
        "first": span.first,
        "last": span.last,
        "weeks": len(span.compared_weeks),
        "deload_weeks": span.deload_weeks,
        "away_weeks": span.away_weeks,
        "unfinished_weeks": span.unfinished_weeks,
    }
