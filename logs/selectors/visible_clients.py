"""The client or coach that a list is filtered by."""

from uuid import UUID

from coaching.models import Client
from coaching.policy import Principal, client_rows
from coaching.refusals import Invalid, UnknownObject
from coaching.selectors.memberships import list_coaches


def require_visible_client(*, actor: Principal, client_id: UUID) -> None:
    """See that the caller may see a client.

    Raises:
        UnknownObject: there is none of this id that they may see; it points at the query's `client`.
    """
    if not Client.objects.filter(client_rows(actor, ""), id=client_id).exists():
        raise UnknownObject.at("?client", "There is no such client that you may see.")


def coach_named(*, actor: Principal, coach: str | None) -> UUID | None:
    """Return the coach that a list is filtered by: an id, or `me` for whoever calls; None for all.

    Raises:
        Invalid: it is neither.
        UnknownObject: there is no such coach in the business.
    """
    if coach is None or coach == "me":
        return None if coach is None else actor.membership_id
    try:
        coach_id = UUID(coach)
    except ValueError:
        raise Invalid.at("?coach", f"coach is `me` or an id (a UUID), not {coach!r}.") from None
    if not list_coaches().filter(id=coach_id).exists():
        raise UnknownObject.at("?coach", "There is no coach with this id in the business.")
    return coach_id
