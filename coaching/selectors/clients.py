"""Reading clients, as far as the caller may see them."""

from collections.abc import Sequence
from typing import Any, Final
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from coaching.models.clients import Client
from coaching.models.consents import Consent, ConsentText
from coaching.models.people import Role
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound, UnknownObject
from coaching.selectors.memberships import list_coaches

CLIENT_COLUMNS: Final = (
    "id",
    "name",
    "email",
    "birth_date",
    "coach",
    "viewers",
    "time_zone",
    "unit",
    "equipment",
    "avoided_movements",
    "max_complexity",
    "session_min",
    "weekdays",
    "max_hr_bpm",
    "care_groups",
    "missed_notes",
    "training_since",
    "state",
    "row_version",
    "created_at",
)
_OF_THE_TEAM: Final = frozenset({"viewers"})
"""Columns that a client is not shown of themselves."""


def list_clients(
    *,
    actor: Principal,
    coach_id: UUID | None = None,
    states: Sequence[str] | None = None,
    name_prefix: str | None = None,
    consent_missing: str | None = None,
) -> QuerySet[Client, dict[str, Any]]:
    """Return the clients whom the caller may see.

    Raises:
        UnknownObject: the coach filtered by is not one of the business.
    """
    rows = Client.objects.filter(client_rows(actor, ""))
    if coach_id is not None:
        if not _is_coach(actor, coach_id):
            raise UnknownObject.at("?coach", "There is no such coach in this business.")
        rows = rows.filter(coach_id=coach_id)
    if states:
        rows = rows.filter(state__in=states)
    if name_prefix:
        rows = rows.filter(name__istartswith=name_prefix)
    if consent_missing is not None:
        rows = rows.filter(~Exists(standing_consents(consent_missing)))
    hidden = _OF_THE_TEAM if actor.role == Role.CLIENT else frozenset()
    shown: QuerySet[Client, dict[str, Any]] = rows.values(*(name for name in CLIENT_COLUMNS if name not in hidden))
    return shown


def _is_coach(actor: Principal, coach_id: UUID) -> bool:
    if actor.role == Role.CLIENT:
        # A client knows of their own coach alone.
        return Client.objects.filter(client_rows(actor, ""), coach_id=coach_id).exists()
    return list_coaches().filter(id=coach_id).exists()


def get_client(*, actor: Principal, client_id: UUID) -> dict[str, Any]:
    """Return a client.

    Raises:
        NotFound: there is none of this id whom the caller may see.
    """
    found = list_clients(actor=actor).filter(id=client_id).first()
    if found is None:
        raise NotFound("There is no such client that you may see.")
    return found


def standing_consents(kind: str) -> QuerySet[Consent]:
    """Return consents to the newest words of a kind that stand, of the client of the query round it."""
    newest = ConsentText.objects.filter(kind=kind).order_by("-version").values("id")[:1]
    return Consent.objects.filter(client_id=OuterRef("id"), text_id=Subquery(newest), withdrawn_at=None)
