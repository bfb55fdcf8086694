"""Reading the second factor of an account."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from coaching.models.businesses import Business, SecondFactorRule
from coaching.models.people import Role
from coaching.models.second_factors import RecoveryCode, SecondFactor
from coaching.policy import Principal


@dataclass(frozen=True, slots=True)
class SecondFactorState:
    """Whether an account has a second factor, and whether its person needs one here."""

    stands: bool
    since: datetime | None
    recovery_codes_left: int
    required: bool


def has_standing_factor(*, person_id: UUID) -> bool:
    """Say whether an account has a confirmed second factor."""
    return SecondFactor.objects.filter(person_id=person_id, confirmed_at__isnull=False).exists()


def get_second_factor(*, actor: Principal) -> SecondFactorState:
    """Return how it stands with the caller's own."""
    own = Q(person_id=actor.person_id)
    factor = SecondFactor.objects.filter(own, confirmed_at__isnull=False).first()
    rule = Business.objects.values_list("second_factor_required", flat=True).get(id=actor.business_id)
    return SecondFactorState(
        stands=factor is not None,
        since=factor.confirmed_at if factor else None,
        recovery_codes_left=RecoveryCode.objects.filter(own).count(),
        required=rule_covers(rule, actor.role),
    )


def rule_covers(rule: str, role: str | None) -> bool:
    """Say whether a business's rule asks a role for a second factor."""
    return rule == SecondFactorRule.EVERYONE or (rule == SecondFactorRule.STAFF and role != Role.CLIENT)
