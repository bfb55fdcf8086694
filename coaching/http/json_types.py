"""JSON's own types, kept apart: Django REST framework would read 5 as text, and "yes" or 1 as true.

Decimal numbers may still come as text: that is how a program sends one without rounding it.
"""

from collections.abc import Mapping
from typing import Any, Final

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

_NUMBERS: Final = (int, float)
# Nearest kind first.
_KINDS: Final[tuple[tuple[type[Any], tuple[type, ...], str], ...]] = (
    (serializers.BooleanField, (bool,), "true or false"),
    (serializers.CharField, (str,), "text, in quotes"),
    (serializers.UUIDField, (str,), "an id, in quotes"),
    (serializers.IntegerField, _NUMBERS, "a whole number, without quotes"),
)


def mistyped_fault(field: Any, value: Any) -> Any:
    """Return the fault of a value that is of another JSON type than its field, None where there is none.

    What is null, and what is no plain value at all, is left to the field; a list is looked at item by item.
    """
    if isinstance(field, serializers.ListField) and isinstance(value, list):
        faults = {index: fault for index, item in enumerate(value) if (fault := mistyped_fault(field.child, item))}
        return faults or None
    if value is None or isinstance(value, (list, Mapping)):
        return None
    for kind, types, words in _KINDS:
        if isinstance(field, kind):
            right = isinstance(value, types) and (bool in types or not isinstance(value, bool))
            return None if right else [ErrorDetail(f"Send {words}.", code="invalid")]
    return None
