"""Load advice as it is asked for: of one client's next session, and across clients."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import QuerySet

from coaching.policy import Principal
from coaching.refusals import Invalid, UnknownObject
from coaching.selectors.memberships import list_coaches
from logs.selectors.load_advice import SessionAdvice, list_session_advice, next_sessions, sessions_to_advise
from logs.selectors.visible_clients import require_visible_client
from programs.models import PlannedSession
from programs.selectors.visible_clients import get_visible_client

_ORDER: Final = ("local_date", "id")


def get_next_session(*, actor: Principal, client_id: UUID, now: datetime) -> SessionAdvice | None:
    """Return a client's next open session with its advice; None where nothing is planned.

    Raises:
        NotFound: no such client that the caller may see.
    """
    get_visible_client(actor=actor, client_id=client_id)
    found = list_session_advice(sessions=next_sessions(actor=actor, client_id=client_id), now=now)
    return found[0] if found else None


def list_next_sessions(
    *, actor: Principal, coach: str | None = None, client_id: UUID | None = None
) -> QuerySet[PlannedSession, dict[str, Any]]:
    """Return the next open sessions of clients whom the caller may see.

    Args:
        actor: who calls.
        coach: only those of this coach's clients: an id, or `me`.
        client_id: only this client's.

    Raises:
        Invalid: the coach is neither `me` nor an id.
        UnknownObject: no such coach in the business, or no such client that the caller may see.
    """
    if client_id is not None:
        require_visible_client(actor=actor, client_id=client_id)
    coach_id = None if coach is None else _coach_id(actor, coach)
    earliest = next_sessions(actor=actor, client_id=client_id, coach_id=coach_id)
    rows = PlannedSession.objects.filter(id__in=earliest.values("id"))
    found: QuerySet[PlannedSession, dict[str, Any]] = rows.values(*_ORDER)
    return found


def list_load_advice(*, actor: Principal, sessions: Sequence[Mapping[str, Any]], now: datetime) -> list[SessionAdvice]:
    """Return the advice for sessions of a page, in its order, in a constant number of statements."""
    ids = [row["id"] for row in sessions]
    named = sessions_to_advise(actor=actor, planned_session_ids=ids)
    found = {one.row["id"]: one for one in list_session_advice(sessions=named, now=now)}
    return [found[session_id] for session_id in ids if session_id in found]


def _coach_id(actor: Principal, coach: str) -> UUID | None:
    if coach == "me":
        return actor.membership_id
    try:
        coach_id = UUID(coach)
    except ValueError:
        raise Invalid.at("?coach", f"coach is `me` or an id (a UUID), not {coach!r}.") from None
    if not list_coaches().filter(id=coach_id).exists():
        raise UnknownObject.at("?coach", "There is no coach with this id in the business.")
    return coach_id
