"""Loads as callers post and read them: in either unit, exactly one."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.unknown_fields import StrictSerializer
from coaching.measures.load import Load, LoadError, LoadUnit, entered_load
from coaching.models.businesses import Unit

_LB_SHOWN = Decimal("0.0001")


class LoadSerializer(StrictSerializer):
    """A serializer with a load: `load_kg` or `load_lb`, exactly one, read as `validated["load"]`.

    Set `load_required = False` where the load may be left out; it is then None.
    """

    load_required = True

    load_kg = serializers.DecimalField(max_digits=9, decimal_places=4, required=False)
    load_lb = serializers.DecimalField(max_digits=9, decimal_places=4, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Put the two fields together as one load."""
        attrs = super().validate(attrs)
        try:
            load = entered_load(load_kg=attrs.pop("load_kg", None), load_lb=attrs.pop("load_lb", None))
        except LoadError as error:
            raise ValidationError({"load_lb": [ErrorDetail(str(error), code=error.code)]}) from error
        if load is None and self.load_required:
            sentence = "Give the load as load_kg or as load_lb."
            raise ValidationError({"load_kg": [ErrorDetail(sentence, code="required")]})
        return {**attrs, "load": load}


class LoadEnteredSerializer(serializers.Serializer[Any]):
    """A load as it was entered."""

    value = serializers.FloatField()
    unit = serializers.ChoiceField(choices=Unit.choices)


class LoadShownSerializer(serializers.Serializer[Any]):
    """The three fields in which a load is returned; for documentation, as a base or beside others."""

    load_kg = serializers.FloatField(allow_null=True)
    load_lb = serializers.FloatField(allow_null=True)
    load_entered = LoadEnteredSerializer(allow_null=True)


def show_load(value: Decimal | None, unit: LoadUnit | None) -> dict[str, Any]:
    """Return a load in kg, in lb, and as entered; all null where there is none."""
    if value is None or unit is None:
        return {"load_kg": None, "load_lb": None, "load_entered": None}
    load = Load(value, unit)
    shown_lb = load.value if unit == "lb" else load.lb.quantize(_LB_SHOWN)
    return {"load_kg": load.kg, "load_lb": shown_lb, "load_entered": {"value": value, "unit": unit}}
