"""Load advice as it is asked for: of one client's next session, and across clients."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from coaching.policy import Principal
from coaching.refusals import Invalid, UnknownObject
from coaching.selectors.memberships import list_coaches
from logs.selectors.load_advice import SessionAdvice, SlotAdvice, list_session_advice, next_sessions
from logs.selectors.visible_clients import require_visible_client
from programs.selectors.visible_clients import get_visible_client


@dataclass(frozen=True, slots=True)
class LoadAdviceRow:
    """A slot of a client's next session; `local_date`, `client_name` and `place` are its place in the list."""

    session: SessionAdvice
    slot: SlotAdvice
    local_date: date
    client_name: str
    place: str


def get_next_session(*, actor: Principal, client_id: UUID, now: datetime) -> SessionAdvice | None:
    """Return a client's next open session with its advice; None where nothing is planned.

    Raises:
        NotFound: no such client that the caller may see.
    """
    get_visible_client(actor=actor, client_id=client_id)
    found = list_session_advice(sessions=next_sessions(actor=actor, client_id=client_id), now=now)
    return found[0] if found else None


def list_load_advice(
    *,
    actor: Principal,
    coach: str | None = None,
    client_id: UUID | None = None,
    actions: Sequence[str] | None = None,
    now: datetime,
) -> list[LoadAdviceRow]:
    """Return the slots of the next sessions of clients whom the caller may see, in no order.

    Args:
        actor: who calls.
        coach: only this coach's clients: an id, or `me`.
        client_id: only this client's.
        actions: only advice that says one of these.
        now: the present instant.

    Raises:
        UnknownObject: no such coach in the business, or no such client that the caller may see.
    """
    if client_id is not None:
        require_visible_client(actor=actor, client_id=client_id)
    coach_id = None if coach is None else _coach_id(actor, coach)
    found = list_session_advice(sessions=next_sessions(actor=actor, client_id=client_id, coach_id=coach_id), now=now)
    return [
        LoadAdviceRow(
            session=session,
            slot=slot,
            local_date=session.row["local_date"],
            client_name=session.row["client__name"],
            place=f"{session.row['id']}/{place:03}",
        )
        for session in found
        for place, slot in enumerate(session.slots)
        if not actions or slot.advice.action in actions
    ]


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
