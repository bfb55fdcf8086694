"""Looking up credentials, before any business is known."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection
from django.db.models import Exists, OuterRef

from coaching.models.businesses import BusinessState
from coaching.models.people import Membership, MembershipState, Role
from coaching.models.second_factors import SecondFactor
from coaching.selectors.second_factors import rule_covers


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """An API key as its prefix finds it, with the secret before its last rotation."""

    id: UUID
    business_id: UUID
    digest: str
    scopes: tuple[str, ...]
    source: str
    client_ids: tuple[UUID, ...] | None
    expires_at: datetime | None
    revoked_at: datetime | None
    last_used_at: datetime | None
    previous_digest: str = ""
    previous_ends_at: datetime | None = None
    previous_last_used_at: datetime | None = None


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
            "SELECT id, business_id, digest, scopes, source, client_ids, expires_at, revoked_at, last_used_at, "
            "previous_digest, previous_ends_at, previous_last_used_at FROM resolve_api_key(%s)",
            [prefix],
        )
        row = cursor.fetchone()
    if row is None:
        return None
    client_ids = None if row[5] is None else tuple(row[5])
    return KeyRecord(row[0], row[1], row[2], tuple(row[3]), row[4], client_ids, *row[6:])


def list_places(*, person_id: UUID) -> list[Place]:
    """Return a person's active memberships in active businesses, by the business's name."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT id, business_id, business_name, role FROM memberships_of(%s)", [person_id])
        return [Place(*row) for row in cursor.fetchall()]


@dataclass(frozen=True, slots=True)
class ActiveMember:
    """What a membership lets its person do; `needs_second_factor` is true until they have the one it asks for."""

    role: Role
    needs_second_factor: bool


def find_active_member(*, membership_id: UUID) -> ActiveMember | None:
    """Return a membership of the business in scope, if it still lets its person in."""
    standing = SecondFactor.objects.filter(person_id=OuterRef("person_id"), confirmed_at__isnull=False)
    found = (
        Membership.objects.filter(id=membership_id, state=MembershipState.ACTIVE, business__state=BusinessState.ACTIVE)
        .values_list("role", "business__second_factor_required", Exists(standing))
        .first()
    )
    if found is None:
        return None
    role, rule, has_factor = found
    return ActiveMember(Role(role), rule_covers(rule, role) and not has_factor)
