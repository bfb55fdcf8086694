"""Looking up credentials, before any business is known."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection

from coaching.models.businesses import BusinessState
from coaching.models.people import Membership, MembershipState, Role


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """An API key as its prefix finds it."""

    id: UUID
    business_id: UUID
    digest: str
    scopes: tuple[str, ...]
    source: str
    client_ids: tuple[UUID, ...] | None
    expires_at: datetime | None
    revoked_at: datetime | None
    last_used_at: datetime | None


@dataclass(frozen=True, slots=True)
class Place:
    """An active membership of a person, as sign-in lists it."""

    membership_id: UUID
    business_id: UUID
    business_name: str
    role: str


def find_key(*, prefix: str) -> KeyRecord | None:
    """Return the key with a prefix, whatever business it is of."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT id, business_id, digest, scopes, source, client_ids, expires_at, revoked_at, last_used_at "
            "FROM resolve_api_key(%s)",
            [prefix],
        )
        row = cursor.fetchone()
    if row is None:
        return None
    client_ids = None if row[5] is None else tuple(row[5])
    return KeyRecord(row[0], row[1], row[2], tuple(row[3]), row[4], client_ids, row[6], row[7], row[8])


def list_places(*, person_id: UUID) -> list[Place]:
    """Return a person's active memberships in active businesses, by the business's name."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT id, business_id, business_name, role FROM memberships_of(%s)", [person_id])
        return [Place(*row) for row in cursor.fetchall()]


def find_active_role(*, membership_id: UUID) -> Role | None:
    """Return the role of a membership of the business in scope, if it still lets its person in."""
    role = (
        Membership.objects.filter(id=membership_id, state=MembershipState.ACTIVE, business__state=BusinessState.ACTIVE)
        .values_list("role", flat=True)
        .first()
    )
    return None if role is None else Role(role)
