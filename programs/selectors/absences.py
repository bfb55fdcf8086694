"""When clients are away."""

from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from coaching.models import Absence
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from programs.selectors.visible_clients import get_named_client


def visible_absences(actor: Principal) -> QuerySet[Absence]:
    """Return the absences of clients whom the caller may see."""
    return Absence.objects.filter(client_rows(actor))


def list_absences(
    *, actor: Principal, client_id: UUID | None = None, first: date | None = None, last: date | None = None
) -> QuerySet[Absence]:
    """Return absences that touch the days asked for.

    Raises:
        UnknownObject: no such client that the caller may see.
    """
    rows = visible_absences(actor)
    if client_id is not None:
        get_named_client(actor=actor, client_id=client_id, pointer="?client")
        rows = rows.filter(client_id=client_id)
    if first is not None:
        rows = rows.filter(ends_on__gte=first)
    return rows if last is None else rows.filter(starts_on__lte=last)


def get_absence(*, actor: Principal, absence_id: UUID) -> Absence:
    """Return an absence.

    Raises:
        NotFound: no such absence that the caller may see.
    """
    found = visible_absences(actor).filter(id=absence_id).first()
    if found is None:
        raise NotFound("There is no absence with this id that you may see.")
    return found
