"""How long clients take beside what is planned."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from coaching.policy import Principal
from programs.models import SessionPace
from programs.prescription.constants import PACE_SESSIONS_MAX, PACE_SESSIONS_MIN
from programs.prescription.session_pace import ClientPace, PacedTime, pace_reason, paced_time
from programs.selectors.visible_clients import get_visible_client

METHOD: Final = (
    "The median, over the last planned sessions that were done, of performed minutes to the middle of the planned low "
    "and high minutes. Sessions cut short and those without known minutes are left out."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PaceReading:
    """A client's usual pace with all that it rests on; without a ratio, ``reason`` says why."""

    client: UUID
    ratio: Decimal | None
    sessions: int
    sessions_min: int
    sessions_max: int
    last_on: date | None
    reason: str
    method: str = METHOD
    source: str = "practice"


def session_paces(*, client_ids: Collection[UUID]) -> dict[UUID, ClientPace]:
    """Return the pace of each client, in one query; clients of whom none is known are left out."""
    rows = SessionPace.objects.filter(client_id__in=list(client_ids))
    return {
        client_id: ClientPace(ratio=ratio, sessions=sessions, last_on=last_on)
        for client_id, ratio, sessions, last_on in rows.values_list("client_id", "ratio", "sessions", "last_on")
    }


def get_session_pace(*, actor: Principal, client_id: UUID) -> PaceReading:
    """Return a client's usual pace.

    Raises:
        NotFound: no such client that the caller may see.
    """
    get_visible_client(actor=actor, client_id=client_id)
    pace = session_paces(client_ids=[client_id]).get(client_id, ClientPace())
    return PaceReading(
        client=client_id,
        ratio=pace.ratio,
        sessions=pace.sessions,
        sessions_min=PACE_SESSIONS_MIN,
        sessions_max=PACE_SESSIONS_MAX,
        last_on=pace.last_on,
        reason=pace_reason(pace),
    )


def list_paced_times(rows: Sequence[Mapping[str, Any]]) -> dict[UUID, PacedTime]:
    """Return, by session, what its planned time is at its client's pace; in one query.

    Args:
        rows: sessions as `programs.selectors.planned_sessions.shown` returns them.
    """
    paces = session_paces(client_ids={row["client_id"] for row in rows}) if rows else {}
    return {
        row["id"]: paced_time(row["planned_low_min"], row["planned_high_min"], paces.get(row["client_id"]))
        for row in rows
    }
