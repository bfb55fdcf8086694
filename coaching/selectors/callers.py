"""Who is calling, as `GET /me` tells it."""

from typing import Any

from coaching.models.businesses import Business
from coaching.models.clients import Client
from coaching.models.people import Person, Role
from coaching.policy import OPERATIONS, Principal, allows


def get_caller(*, actor: Principal) -> dict[str, Any]:
    """Return who is calling, in which business, with what they may do."""
    return {
        "kind": actor.kind,
        "business": Business.objects.values("id", "name", "time_zone", "unit").get(id=actor.business_id),
        "person": _person(actor),
        "coach": None if actor.role == Role.CLIENT else actor.membership_id,
        "client": _own_client(actor),
        "role": actor.role,
        "scopes": sorted(actor.scopes),
        "source": actor.source,
        "client_ids": None if actor.client_ids is None else sorted(actor.client_ids),
        "credential": actor.credential_id,
        "needs_second_factor": actor.needs_second_factor,
        "operations": sorted(name for name in OPERATIONS if allows(actor, name)),
    }


def _person(actor: Principal) -> dict[str, Any] | None:
    if actor.person_id is None:
        return None
    return dict(Person.objects.values("id", "name", "email").get(id=actor.person_id))


def _own_client(actor: Principal) -> Any:
    if actor.role != Role.CLIENT or actor.membership_id is None:
        return None
    return Client.objects.filter(membership_id=actor.membership_id).values_list("id", flat=True).first()
