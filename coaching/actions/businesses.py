"""Making a business with its first owner, and changing its policy."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from coaching import registry
from coaching.actions.audit_trail import record_command
from coaching.actions.people import find_or_create_person
from coaching.actions.row_versions import Versions, bump
from coaching.measures.local_calendar import UnknownZoneError, zone
from coaching.models.businesses import Business, SecondFactorRule, Unit
from coaching.models.people import Membership, Role
from coaching.policy import Principal
from coaching.refusals import Conflict, Invalid
from coaching.selectors.businesses import get_business
from coaching.selectors.second_factors import has_standing_factor
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope


class OwnFactorFirst(Conflict):
    """Who asks others for a second factor must have one."""

    code = "own_second_factor_first"


@dataclass(frozen=True, slots=True)
class CreatedBusiness:
    """A business just made; `owner_is_new` says whether the owner's account was made with it."""

    business_id: UUID
    owner_membership_id: UUID
    owner_is_new: bool


def create_business(
    *,
    name: str,
    time_zone: str,
    owner_email: str,
    owner_name: str,
    owner_password: str,
    now: datetime,
    unit: str = Unit.KG,
) -> CreatedBusiness:
    """Make a business, its first owner, and what the apps add to a new one; opens the new business's scope.

    An account that exists under the address becomes the owner with the password that it has.

    Raises:
        Invalid: the time zone, the unit or the password can't be taken.
    """
    try:
        zone(time_zone)
    except UnknownZoneError as error:
        raise Invalid.at("#/time_zone", str(error), error.code) from None
    if unit not in Unit.values:
        raise Invalid.at("#/unit", f"The unit is kg or lb, not {unit!r}.")
    business_id = new_id()
    with business_scope(business_id):
        owner, is_new = find_or_create_person(email=owner_email, name=owner_name, password=owner_password)
        Business.objects.create(id=business_id, name=name, time_zone=time_zone, unit=unit)
        membership = Membership.objects.create(person=owner, role=Role.OWNER, time_zone=time_zone)
        for add in registry.on_business_created:
            add(business_id)
        record_command(operation="businesses.create", now=now, object_id=str(business_id))
    return CreatedBusiness(business_id, membership.id, is_new)


def update_business(*, actor: Principal, versions: Versions, now: datetime, **changes: Any) -> dict[str, Any]:
    """Change the business's settings and policy; return it as it is then.

    Raises:
        PreconditionFailed: it was changed since the version named.
        OwnFactorFirst: a second factor is to be required by an owner who has none.
    """
    if changes.get("second_factor_required", SecondFactorRule.NONE) != SecondFactorRule.NONE:
        _refuse_without_own_factor(actor)
    before = get_business(business_id=actor.business_id)
    bump(Business.objects.all(), actor.business_id, versions, **changes)
    changed = frozenset(name for name, value in changes.items() if before[name] != value)
    if changed:
        for follow in registry.on_business_policy_changed:
            follow(changed, now)
    return get_business(business_id=actor.business_id)


def _refuse_without_own_factor(actor: Principal) -> None:
    if actor.person_id is None or not has_standing_factor(person_id=actor.person_id):
        raise OwnFactorFirst(
            "Set up your own second factor first (POST /api/v1/me/second-factor): without one, this setting would "
            "shut you out too."
        )
