"""API keys, as they are made and listed."""

from datetime import datetime
from typing import Any

from django.utils import timezone
from rest_framework import serializers

from coaching.actions.api_keys import MAX_OVERLAP_H
from coaching.http.fields import WordField, choices_of
from coaching.http.unknown_fields import StrictSerializer
from coaching.policy import Scope

_SCOPES = choices_of(Scope)


class ApiKeyExpirySerializer(StrictSerializer):
    """When a key is to end."""

    expires_at = serializers.DateTimeField(required=False, allow_null=True)

    def validate_expires_at(self, expires_at: datetime | None) -> datetime | None:
        """Refuse an end that is past."""
        if expires_at is not None and expires_at <= timezone.now():
            raise serializers.ValidationError("It is past; give a later instant or leave it out.", code="past")
        return expires_at


class ApiKeyInSerializer(ApiKeyExpirySerializer):
    """A key to make."""

    name = serializers.CharField(max_length=100)
    scopes = serializers.ListField(
        child=serializers.ChoiceField(choices=_SCOPES), min_length=1, max_length=len(_SCOPES)
    )
    source = WordField(  # type: ignore[assignment]  # a field of that name, which the metaclass takes
        max_length=60, required=False, help_text="What the key's logs are filed under; needed with logs:write."
    )
    client_ids = serializers.ListField(
        child=serializers.UUIDField(),
        required=False,
        allow_null=True,
        min_length=1,
        max_length=500,
        help_text="Narrows the key to these clients.",
    )


class ApiKeyRotationSerializer(ApiKeyExpirySerializer):
    """How a key's secret is exchanged."""

    overlap_h = serializers.IntegerField(
        min_value=0,
        max_value=MAX_OVERLAP_H,
        default=24,
        help_text="How long the present secret stays good beside the new one, though never past its own expiry.",
    )
    expires_at = serializers.DateTimeField(
        required=False, allow_null=True, help_text="When the key is to end from now on; as before where left out."
    )


class ApiKeySerializer(serializers.Serializer[Any]):
    """A key; its secret is not kept."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    prefix = serializers.CharField()
    scopes = serializers.ListField(child=serializers.ChoiceField(choices=_SCOPES))
    source = serializers.CharField()  # type: ignore[assignment]  # as above
    client_ids = serializers.ListField(child=serializers.UUIDField(), allow_null=True)
    created_by = serializers.UUIDField(allow_null=True)
    created_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField(allow_null=True)
    revoked_at = serializers.DateTimeField(allow_null=True)
    last_used_at = serializers.DateTimeField(
        allow_null=True, help_text="When the present secret was last used, to the minute."
    )
    rotated_at = serializers.DateTimeField(allow_null=True)
    previous_ends_at = serializers.DateTimeField(
        allow_null=True, help_text="Until when the secret before the last rotation is good."
    )
    previous_last_used_at = serializers.DateTimeField(allow_null=True, help_text="When that one was last used.")


class ApiKeyMadeSerializer(ApiKeySerializer):
    """A key just made, with the secret that is shown this once."""

    key = serializers.CharField(help_text="Shown this once; send it as Authorization: Bearer.")
