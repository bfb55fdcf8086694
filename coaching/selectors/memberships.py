"""Reading the team of the business in scope."""

from typing import Any, Final
from uuid import UUID

from django.db.models import F, QuerySet

from coaching.models.people import Membership, MembershipState, Role
from coaching.refusals import NotFound

COACH_COLUMNS: Final = ("id", "role", "time_zone", "state", "row_version", "created_at")


def list_coaches(*, role: str | None = None, state: str | None = None) -> QuerySet[Membership, dict[str, Any]]:
    """Return the team, clients' own memberships left out."""
    rows = Membership.objects.exclude(role=Role.CLIENT)
    if role is not None:
        rows = rows.filter(role=role)
    if state is not None:
        rows = rows.filter(state=state)
    shown: QuerySet[Membership, dict[str, Any]] = rows.values(
        *COACH_COLUMNS, name=F("person__name"), email=F("person__email")
    )
    return shown


def get_coach(*, membership_id: UUID) -> dict[str, Any]:
    """Return one of the team.

    Raises:
        NotFound: nobody of the team has this id.
    """
    found = list_coaches().filter(id=membership_id).first()
    if found is None:
        raise NotFound("There is no such coach in this business.")
    return found


def is_active_coach(*, membership_id: UUID) -> bool:
    """Say whether clients can be given to someone: active, and more than a viewer or client."""
    return Membership.objects.filter(
        id=membership_id,
        state=MembershipState.ACTIVE,
        role__in=[Role.OWNER, Role.HEAD_COACH, Role.COACH],
    ).exists()
