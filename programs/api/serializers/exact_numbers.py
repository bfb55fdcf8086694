"""Numbers of documents, which keep every digit."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers


@extend_schema_field({"type": ["number", "string"], "pattern": r"^[+-]?[0-9]{1,9}(\.[0-9]{1,6})?$"})
class ExactNumberField(serializers.FloatField):
    """A number or the same as text, such as `"82.5"`: documents are returned with text, so that no digit is lost."""
