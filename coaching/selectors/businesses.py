"""Reading the business in scope."""

from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.models.businesses import Business
from coaching.tenancy.scope import business_scope

BUSINESS_COLUMNS: Final = (
    "id",
    "name",
    "time_zone",
    "unit",
    "week_start",
    "default_session_min",
    "day_ends_at",
    "grace_h",
    "digest_at",
    "quiet_from",
    "quiet_until",
    "missed_escalation_sessions",
    "client_notes",
    "part_done_below_ratio",
    "negligible_pct_per_week",
    "allowed_origins",
    "second_factor_required",
    "state",
    "row_version",
    "created_at",
)


def get_business(*, business_id: UUID) -> dict[str, Any]:
    """Return the business as its owner sees it."""
    business: dict[str, Any] = Business.objects.values(*BUSINESS_COLUMNS).get(id=business_id)
    return business


def is_allowed_origin(*, origin: str) -> bool:
    """Say whether any active business lists an origin; before a caller is known, no more can be asked."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT origin_is_allowed(%s)", [origin])
        return bool(cursor.fetchone()[0])


def is_origin_of_business(*, business_id: UUID, origin: str) -> bool:
    """Say whether a business lists an origin; opens that business's scope."""
    with business_scope(business_id):
        return Business.objects.filter(id=business_id, allowed_origins__contains=[origin]).exists()
