"""Write down where a client trains; sessions planned for a place follow when it changes."""

from datetime import datetime
from typing import Any
from uuid import UUID

from coaching import registry
from coaching.actions.row_versions import Versions, bump
from coaching.models.clients import Absence
from coaching.models.places import Place
from coaching.policy import Principal, client_rows
from coaching.refusals import Conflict
from coaching.selectors.clients import get_client
from coaching.selectors.places import get_place


class PlaceNameTaken(Conflict):
    """A client's places have names of their own."""

    code = "place_name_taken"


def create_place(*, actor: Principal, client_id: UUID, name: str, kind: str, **facts: Any) -> Place:
    """Write down a place of a client.

    Args:
        actor: who does.
        client_id: whose place it is, as named in the path.
        name: what the client calls it.
        kind: `home`, `gym`, `hotel` or `other`.
        facts: `equipment` and `load_steps`.

    Raises:
        NotFound: there is no such client whom the actor may see.
        PlaceNameTaken: the client has a place of that name.
    """
    get_client(actor=actor, client_id=client_id)
    made, created = Place.objects.get_or_create(client_id=client_id, name=name, defaults={"kind": kind, **facts})
    if not created:
        raise PlaceNameTaken(
            f"The client has a place called {name!r} already; change that one, or name this otherwise."
        )
    return made


def update_place(
    *, actor: Principal, client_id: UUID, place_id: UUID, versions: Versions, now: datetime, **changes: Any
) -> Place:
    """Change a place; sessions to come that are planned for it are reckoned anew.

    Raises:
        NotFound, PreconditionFailed: as `bump` says.
        PlaceNameTaken: the client has another place of that name.
    """
    rows = Place.objects.filter(client_rows(actor), client_id=client_id)
    name = changes.get("name")
    if name is not None and rows.filter(name=name).exclude(id=place_id).exists():
        raise PlaceNameTaken(f"The client has another place called {name!r}; choose another name.")
    bump(rows, place_id, versions, **changes)
    _tell(client_id, now)
    return get_place(actor=actor, client_id=client_id, place_id=place_id)


def remove_place(*, actor: Principal, client_id: UUID, place_id: UUID, versions: Versions, now: datetime) -> None:
    """Remove a place: travel that was to it goes on without one.

    Raises:
        NotFound, PreconditionFailed: as `bump` says.
    """
    bump(Place.objects.filter(client_rows(actor), client_id=client_id), place_id, versions)
    Absence.objects.filter(client_id=client_id, place_id=place_id).update(place=None)
    _tell(client_id, now)
    Place.objects.filter(id=place_id).delete()


def _tell(client_id: UUID, now: datetime) -> None:
    for place_changed in registry.on_place_changed:
        place_changed(client_id, now)
