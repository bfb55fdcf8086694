"""Clients as paths, bodies and filters name them: not the caller's to see is the same as not there."""

from uuid import UUID

from coaching.models import Client
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound, UnknownObject


def get_visible_client(*, actor: Principal, client_id: UUID) -> Client:
    """Return the client that a path names.

    Raises:
        NotFound: no such client that the caller may see.
    """
    found = Client.objects.filter(client_rows(actor, ""), id=client_id).first()
    if found is None:
        raise NotFound("There is no client with this id that you may see.")
    return found


def get_named_client(*, actor: Principal, client_id: UUID, pointer: str) -> Client:
    """Return the client that a body or filter names.

    Args:
        actor: who calls.
        client_id: the client.
        pointer: where it is named, such as `#/client` or `?client`.

    Raises:
        UnknownObject: no such client that the caller may see.
    """
    found = Client.objects.filter(client_rows(actor, ""), id=client_id).first()
    if found is None:
        raise UnknownObject.at(pointer, "There is no client with this id that you may see.")
    return found
