"""The client that a list is filtered by."""

from uuid import UUID

from coaching.models import Client
from coaching.policy import Principal, client_rows
from coaching.refusals import UnknownObject


def require_visible_client(*, actor: Principal, client_id: UUID) -> None:
    """See that the caller may see a client.

    Raises:
        UnknownObject: there is none of this id that they may see; it points at the query's `client`.
    """
    if not Client.objects.filter(client_rows(actor, ""), id=client_id).exists():
        raise UnknownObject.at("?client", "There is no such client that you may see.")
