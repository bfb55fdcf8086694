"""Serializers that refuse fields they don't take, with the nearest name that they do."""

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any, Final

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from coaching.http.json_types import mistyped_fault

MAX_SUGGESTIONS: Final = 20
"""Of one body: looking for the nearest name takes a while, and nobody mistypes more. Practice."""


def nearest(name: str, known: Iterable[str]) -> str:
    """Return a sentence that suggests the known name most like this one, or nothing."""
    near = get_close_matches(name, sorted(known), n=1, cutoff=0.6)
    return f" Did you mean {near[0]!r}?" if near else ""


class StrictSerializer(serializers.Serializer[Any]):
    """Takes its writable fields and nothing else, at every level at which it is used."""

    def to_internal_value(self, data: Any) -> Any:
        """Read the fields; unknown and read-only ones are faults beside all the others."""
        faults = self._refused_fields(data)
        if not faults:
            return super().to_internal_value(data)
        try:
            super().to_internal_value(data)
        except ValidationError as error:
            faults = {**faults, **error.detail} if isinstance(error.detail, dict) else faults
        raise ValidationError(faults)

    def _refused_fields(self, data: Any) -> dict[str, Any]:
        if not isinstance(data, dict):
            return {}
        writable = {name for name, field in self.fields.items() if not field.read_only}
        refused = {_escaped(name): [self._refused(name, writable)] for name in data if name not in writable}
        mistyped = {name: mistyped_fault(self.fields[name], data[name]) for name in data if name in writable}
        return {**refused, **{name: fault for name, fault in mistyped.items() if fault is not None}}

    def _refused(self, name: str, writable: set[str]) -> ErrorDetail:
        if name in self.fields:
            return ErrorDetail(f"{name} is set by the service; leave it out.", code="read_only")
        return ErrorDetail(f"There is no field {name!r} here.{self._suggestion(name, writable)}", code="unknown_field")

    def _suggestion(self, name: str, writable: set[str]) -> str:
        whole: Any = self.root
        whole.suggested = getattr(whole, "suggested", 0) + 1
        return nearest(name, writable) if whole.suggested <= MAX_SUGGESTIONS else ""


def _escaped(name: str) -> str:
    """Escape a name for a JSON pointer."""
    return name.replace("~", "~0").replace("/", "~1")
