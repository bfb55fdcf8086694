"""Shapes of computed figures for the documentation, taken from the dataclasses that hold them."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints
from uuid import UUID

from rest_framework import serializers

_PLAIN: Mapping[Any, type[serializers.Field[Any, Any, Any, Any]]] = {
    bool: serializers.BooleanField,
    int: serializers.IntegerField,
    str: serializers.CharField,
    Decimal: serializers.FloatField,
    date: serializers.DateField,
    datetime: serializers.DateTimeField,
    UUID: serializers.UUIDField,
}


@cache
def figures_of(figures: type[Any], name: str = "") -> type[serializers.Serializer[Any]]:
    """Return the serializer that documents a dataclass of figures, nested ones included.

    Args:
        figures: a dataclass whose fields are plain values, choices, tuples, mappings by text, or such dataclasses.
        name: what the component is called; the dataclass's own name unless said otherwise.
    """
    hints = get_type_hints(figures)
    shown = {field.name: _field(hints[field.name]) for field in fields(figures)}
    documented = {"__doc__": figures.__doc__, "__module__": __name__, **shown}
    return type(f"{name or figures.__name__}Serializer", (serializers.Serializer,), documented)


def _field(hint: Any, **options: Any) -> serializers.Field[Any, Any, Any, Any]:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        inner = next(argument for argument in arguments if argument is not type(None))
        return _field(inner, allow_null=True)
    if origin is Literal:
        return serializers.ChoiceField(choices=list(arguments), **options)
    if origin is tuple:
        return serializers.ListField(child=_field(arguments[0]), **options)
    if origin is not None and issubclass(origin, Mapping):
        return serializers.DictField(child=_field(arguments[1]), **options)
    if is_dataclass(hint):
        return figures_of(hint)(**options)  # type: ignore[arg-type]
    return _PLAIN[hint](**options)
