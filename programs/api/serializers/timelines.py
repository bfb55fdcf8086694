"""The figures by which a business's sessions are timed, as they are read and changed."""

from decimal import Decimal
from typing import Any, Final

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from programs.prescription.timeline_fields import TIMELINE_FIELDS, TIMELINE_UNITS, TimelineField
from programs.selectors.timelines import OwnTimeline

_PLANNED: Final = (
    "Analyses, pairings, cards and whatever is planned from now on go by these figures. Sessions that are planned "
    "already keep their planned minutes until something writes them out anew: a substitute, a change of the session, "
    "another place or reference load, a move of version."
)


class TimelineFigureSerializer(serializers.Serializer[Any]):
    """One figure: what holds, what practice is, and in what bounds a business may change it."""

    name = serializers.CharField()
    value = serializers.FloatField()
    default = serializers.FloatField()
    own = serializers.BooleanField(help_text="Whether it is the business's own; else it is the default.")
    unit = serializers.ChoiceField(choices=list(TIMELINE_UNITS))
    least = serializers.FloatField()
    most = serializers.FloatField()
    meaning = serializers.CharField()
    source = serializers.CharField(help_text="Of the default.")  # type: ignore[assignment]  # the base class has one too


class TimelinePolicySerializer(serializers.Serializer[Any]):
    """How the business's sessions are timed."""

    figures = TimelineFigureSerializer(many=True)
    planned_sessions = serializers.CharField(help_text="What a change does to sessions that are planned already.")
    row_version = serializers.IntegerField()


def _field(figure: TimelineField) -> serializers.Field[Any, Any, Any, Any]:
    said = f"{figure.meaning} Null: practice again, {figure.default:f}."
    options: dict[str, Any] = {"required": False, "allow_null": True, "help_text": said}
    if figure.whole:
        return serializers.IntegerField(min_value=int(figure.least), max_value=int(figure.most), **options)
    return serializers.DecimalField(
        max_digits=5, decimal_places=2, min_value=figure.least, max_value=figure.most, **options
    )


TimelineChangeSerializer = type(
    "TimelineChangeSerializer",
    (StrictSerializer,),
    {
        "__doc__": "The figures that change, by name; null takes the business's own back.",
        "__module__": __name__,
        **{figure.name: _field(figure) for figure in TIMELINE_FIELDS},
    },
)
"""What a change may name: every figure of the table."""


def show_timeline_policy(found: OwnTimeline) -> dict[str, Any]:
    """Return a business's figures as they are read."""
    return {
        "figures": [_figure(figure, found.own.get(figure.name)) for figure in TIMELINE_FIELDS],
        "planned_sessions": _PLANNED,
        "row_version": found.row_version,
    }


def _figure(figure: TimelineField, own: Decimal | None) -> dict[str, Any]:
    return {
        "name": figure.name,
        "value": figure.default if own is None else own,
        "default": figure.default,
        "own": own is not None,
        "unit": figure.unit,
        "least": figure.least,
        "most": figure.most,
        "meaning": figure.meaning,
        "source": figure.source,
    }
