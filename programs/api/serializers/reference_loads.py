"""Reference loads, as they are recorded and read."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from rest_framework import serializers

from coaching.http.units import LoadSerializer, LoadShownSerializer, show_load
from coaching.http.unknown_fields import StrictSerializer
from programs.models import ReferenceKind, ReferenceLoad
from programs.prescription.constants import TEMPO_FACTOR_MAX, TEMPO_FACTOR_MIN
from programs.prescription.tempo_classes import TEMPO_FACTOR_CLASSES


def _factor() -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=4,
        decimal_places=3,
        min_value=TEMPO_FACTOR_MIN,
        max_value=TEMPO_FACTOR_MAX,
        required=False,
        allow_null=True,
    )


class TempoFactorsSerializer(StrictSerializer):
    """What a reference is taken times at tempos unlike the one it was lifted at, 0.3 to 1.

    `slow`: an eccentric of 4 s or more, or a repetition of 8 s or more. `paused`: a working pause of 2 s or more.
    `slow_paused`: both. A class without a factor goes by effort. Null takes a factor back.
    """

    slow = _factor()
    paused = _factor()
    slow_paused = _factor()


class TempoFactorsShownSerializer(serializers.Serializer[Any]):
    """What a reference is taken times at slow and paused tempos; a class that goes by effort is null."""

    slow = serializers.FloatField(allow_null=True)
    paused = serializers.FloatField(allow_null=True)
    slow_paused = serializers.FloatField(allow_null=True)


class ReferenceLoadChangeSerializer(StrictSerializer):
    """The factors that change; what is not named stays."""

    tempo_factors = TempoFactorsSerializer()


class ReferenceLoadInSerializer(LoadSerializer):
    """A load that percentages resolve against, in the exercise's own load basis."""

    exercise = serializers.CharField(max_length=64, help_text="Id or key.")
    kind = serializers.ChoiceField(choices=ReferenceKind.choices)
    on_date = serializers.DateField(help_text="The client's local date from which it holds.")
    source = serializers.CharField(max_length=120, required=False, allow_blank=True)  # type: ignore[assignment]  # the base class has one too
    tempo_factors = TempoFactorsSerializer(
        required=False, help_text="Left out: as the client's last one of this kind and exercise has them."
    )


class ReferenceLoadSerializer(LoadShownSerializer):
    """A reference load of a client."""

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    exercise = serializers.CharField(help_text="Key.")
    exercise_id = serializers.UUIDField()
    exercise_name = serializers.CharField()
    kind = serializers.ChoiceField(choices=ReferenceKind.choices)
    on_date = serializers.DateField()
    source = serializers.CharField()  # type: ignore[assignment]  # the base class has one too
    tempo_factors = TempoFactorsShownSerializer()
    row_version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


def show_reference_load(row: ReferenceLoad) -> dict[str, Any]:
    """Return a reference load as it is read."""
    return {
        "id": row.id,
        "client": row.client_id,
        "exercise": row.exercise.key,
        "exercise_id": row.exercise_id,
        "exercise_name": row.exercise.name,
        "kind": row.kind,
        **show_load(row.load, row.unit),  # type: ignore[arg-type]
        "on_date": row.on_date,
        "source": row.source,
        "tempo_factors": {name: _shown_factor(row, name) for name in TEMPO_FACTOR_CLASSES},
        "row_version": row.row_version,
        "created_at": row.created_at,
    }


def _shown_factor(row: ReferenceLoad, tempo_class: str) -> Decimal | None:
    factor = row.tempo_factors.get(tempo_class)
    return None if factor is None else Decimal(factor)


def show_reference_loads(rows: Sequence[ReferenceLoad]) -> list[dict[str, Any]]:
    """Return reference loads as they are read."""
    return [show_reference_load(row) for row in rows]
