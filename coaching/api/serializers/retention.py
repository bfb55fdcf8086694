"""How long a business keeps what it holds, as it is changed and shown."""

from typing import Any, Final

from rest_framework import serializers

from coaching.http.unknown_fields import StrictSerializer
from coaching.models.retention import HELD_ITEM_DAYS, LOG_IMPORT_DAYS, RetentionPolicy

_SHOWN: Final = (
    "ended_client_months",
    "held_item_days",
    "log_import_days",
    "log_batch_days",
    "mail_body_days",
    "row_version",
)


class RetentionChangeSerializer(StrictSerializer):
    """Times to keep things. The law where the business works says how long is right."""

    ended_client_months = serializers.IntegerField(
        min_value=1,
        max_value=240,
        required=False,
        allow_null=True,
        help_text="Logs, check-ins and what follows from them, of clients who ended; null keeps them. Plans stay.",
    )
    held_item_days = serializers.IntegerField(
        min_value=1, max_value=HELD_ITEM_DAYS, required=False, help_text="Sets that wait for their session."
    )
    log_import_days = serializers.IntegerField(
        min_value=1, max_value=LOG_IMPORT_DAYS, required=False, help_text="Files of past logs."
    )
    log_batch_days = serializers.IntegerField(
        min_value=7, max_value=3_650, required=False, help_text="Records of batches, with their problems."
    )
    mail_body_days = serializers.IntegerField(
        min_value=1, max_value=3_650, required=False, help_text="What mails said; that they were sent stays."
    )


class RetentionPolicySerializer(serializers.Serializer[Any]):
    """How long the business keeps what it holds; what is older goes at night. The trail is kept."""

    ended_client_months = serializers.IntegerField(allow_null=True)
    held_item_days = serializers.IntegerField()
    log_import_days = serializers.IntegerField()
    log_batch_days = serializers.IntegerField()
    mail_body_days = serializers.IntegerField()
    row_version = serializers.IntegerField()


def show_retention(policy: RetentionPolicy) -> dict[str, Any]:
    """Return the business's times as they are shown."""
    return {name: getattr(policy, name) for name in _SHOWN}
