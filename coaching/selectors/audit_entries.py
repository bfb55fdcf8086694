"""Reading the trail of who did what."""

from datetime import datetime
from ipaddress import ip_address
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from coaching.models.audit import AuditEntry
from coaching.refusals import Invalid

SHOWN = (
    "id",
    "at",
    "operation",
    "actor_kind",
    "actor_id",
    "credential_id",
    "address",
    "request_id",
    "object_id",
    "fields",
    "values",
)


def list_audit_entries(
    *,
    operation: str | None = None,
    actor_id: UUID | None = None,
    object_id: str | None = None,
    actor_kind: str | None = None,
    address: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> QuerySet[AuditEntry, dict[str, Any]]:
    """Return the entries of the business in scope as rows of `SHOWN`, those that the filters leave.

    Raises:
        Invalid: the address is none.
    """
    asked = {
        "operation": operation,
        "actor_id": actor_id,
        "object_id": object_id,
        "actor_kind": actor_kind,
        "address": None if address is None else _read_address(address),
        "at__gte": since,
        "at__lte": until,
    }
    found = AuditEntry.objects.filter(**{name: value for name, value in asked.items() if value is not None})
    rows: QuerySet[AuditEntry, dict[str, Any]] = found.values(*SHOWN)
    return rows


def _read_address(text: str) -> str:
    try:
        return str(ip_address(text))
    except ValueError:
        raise Invalid.at("?address", "address is one network address, such as 192.0.2.7, whole.") from None
