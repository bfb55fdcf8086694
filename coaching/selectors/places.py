"""Places of clients, as far as the caller may see them."""

from uuid import UUID

from django.db.models import QuerySet

from coaching.models.places import Place
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from coaching.selectors.clients import get_client


def list_places(*, actor: Principal, client_id: UUID) -> QuerySet[Place]:
    """Return a client's places.

    Raises:
        NotFound: there is no such client whom the caller may see.
    """
    get_client(actor=actor, client_id=client_id)
    return Place.objects.filter(client_rows(actor), client_id=client_id)


def get_place(*, actor: Principal, client_id: UUID, place_id: UUID) -> Place:
    """Return a place of a client.

    Raises:
        NotFound: the client has no such place, or is not the caller's to see.
    """
    found = Place.objects.filter(client_rows(actor), client_id=client_id, id=place_id).first()
    if found is None:
        raise NotFound("The client has no place with this id.")
    return found
