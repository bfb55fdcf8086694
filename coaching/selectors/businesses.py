"""Reading the business in scope."""

from typing import Any, Final
from uuid import UUID

from coaching.models.businesses import Business

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
    "state",
    "row_version",
    "created_at",
)


def get_business(*, business_id: UUID) -> dict[str, Any]:
    """Return the business as its owner sees it."""
    business: dict[str, Any] = Business.objects.values(*BUSINESS_COLUMNS).get(id=business_id)
    return business
