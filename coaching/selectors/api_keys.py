"""Reading the API keys of the business in scope; never their secrets."""

from typing import Any, Final
from uuid import UUID

from django.db.models import QuerySet

from coaching.models.credentials import ApiKey

KEY_COLUMNS: Final = (
    "id",
    "name",
    "prefix",
    "scopes",
    "source",
    "client_ids",
    "created_by",
    "created_at",
    "expires_at",
    "revoked_at",
    "last_used_at",
    "rotated_at",
    "previous_ends_at",
    "previous_last_used_at",
)


def list_api_keys() -> QuerySet[ApiKey, dict[str, Any]]:
    """Return the keys, revoked and expired ones among them."""
    rows: QuerySet[ApiKey, dict[str, Any]] = ApiKey.objects.values(*KEY_COLUMNS)
    return rows


def get_api_key(*, key_id: UUID) -> dict[str, Any]:
    """Return one of the business's keys."""
    return list_api_keys().get(id=key_id)
