"""Erasures, as they are asked for and shown."""

from typing import Any

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from coaching.models.erasures import Erasure


class ErasureInSerializer(StrictSerializer):
    """What erases a client for good."""

    confirm = serializers.CharField(
        max_length=200, trim_whitespace=False, help_text="The client's name, to the letter; this can't be taken back."
    )


class ErasureSerializer(serializers.Serializer[Any]):
    """A person removed: ids and counts, nothing that says anything of them."""

    id = serializers.UUIDField()
    client_id = serializers.UUIDField(help_text="The id that they had; logs that name it are refused.")
    erased_at = serializers.DateTimeField()
    erased_by = serializers.UUIDField(allow_null=True, help_text="The membership; null for the operator.")
    counts = serializers.DictField(child=serializers.IntegerField(), help_text="Rows deleted or emptied, by table.")


def show_erasure(row: Erasure) -> dict[str, Any]:
    """Return a row of the ledger as it is shown."""
    return {name: getattr(row, name) for name in ("id", "client_id", "erased_at", "erased_by", "counts")}
