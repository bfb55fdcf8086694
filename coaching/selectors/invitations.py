"""Reading invitations, as far as the caller may deal with them."""

from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import Case, CharField, F, Q, QuerySet, Value, When

from coaching.models.clients import Client, ClientState
from coaching.models.invitations import Invitation
from coaching.models.people import Role
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound, UnknownObject

STATES: Final = [(word, word) for word in ("pending", "accepted", "expired", "withdrawn")]

_COLUMNS: Final = (
    "id",
    "email",
    "role",
    "client",
    "invited_by",
    "sends",
    "last_sent_at",
    "expires_at",
    "accepted_at",
    "withdrawn_at",
    "created_at",
)


def list_invitations(
    *, actor: Principal, now: datetime, state: str | None = None, client_id: UUID | None = None
) -> QuerySet[Invitation, dict[str, Any]]:
    """Return invitations: an owner's are all, others' those to clients whom they may see.

    Raises:
        UnknownObject: the client filtered by is not one whom the caller may see.
    """
    rows = invitations_of(actor).annotate(state=_state(now))
    if state is not None:
        rows = rows.filter(state=state)
    if client_id is not None:
        if not Client.objects.filter(client_rows(actor, ""), id=client_id).exists():
            raise UnknownObject.at("?client", "There is no such client that you may see.")
        rows = rows.filter(client_id=client_id)
    shown: QuerySet[Invitation, dict[str, Any]] = rows.values(*_COLUMNS, "state")
    return shown


def get_invitation(*, actor: Principal, invitation_id: UUID, now: datetime) -> dict[str, Any]:
    """Return an invitation.

    Raises:
        NotFound: there is none of this id that the caller may deal with.
    """
    found = list_invitations(actor=actor, now=now).filter(id=invitation_id).first()
    if found is None:
        raise NotFound("There is no such invitation that you may see.")
    return found


def invitations_of(actor: Principal) -> QuerySet[Invitation]:
    """Return the rows that the caller may deal with."""
    if actor.role == Role.OWNER:
        return Invitation.objects.all()
    return Invitation.objects.filter(client_rows(actor), client__isnull=False)


def is_pending(now: datetime) -> Q:
    """Return the filter that leaves invitations whose link holds."""
    return Q(accepted_at=None, withdrawn_at=None, expires_at__gt=now)


def find_pending(*, invitation_id: UUID, number: int, now: datetime) -> Invitation | None:
    """Return the invitation of a link, with who invited, if it is the last one sent and still holds.

    One to a client's record holds no longer than the client is coached, by whoever sent it where that is a coach:
    else a coach who handed a client over could have left the record open for themselves.
    """
    theirs = ~Q(invited_by__role=Role.COACH) | Q(client__coach=F("invited_by"))
    return (
        Invitation.objects.filter(
            is_pending(now),
            Q(client=None) | (theirs & ~Q(client__state=ClientState.ENDED)),
            id=invitation_id,
            sends=number,
        )
        .select_related("invited_by__person", "client", "business")
        .first()
    )


def _state(now: datetime) -> Case:
    return Case(
        When(accepted_at__isnull=False, then=Value("accepted")),
        When(withdrawn_at__isnull=False, then=Value("withdrawn")),
        When(expires_at__lte=now, then=Value("expired")),
        default=Value("pending"),
        output_field=CharField(),
    )
