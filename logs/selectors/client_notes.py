"""Who gets a note after a missed session, and what it is about."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from uuid import UUID

from coaching.models import Business, Client, ClientState
from coaching.tenancy.scope import current_business_id
from programs.models import PlannedSession, PlannedState

_COACHED = (ClientState.ACTIVE, ClientState.LEAVING)


@dataclass(frozen=True, slots=True)
class ClientToNote:
    """A client who wants a note, and the sessions it is about."""

    client_id: UUID
    time_zone: str
    planned_session_ids: tuple[UUID, ...]


@dataclass(frozen=True, slots=True)
class NotedSession:
    """A session still missed."""

    planned_session_id: UUID
    title: str
    local_date: date


@dataclass(frozen=True, slots=True)
class MissedNoteFacts:
    """All that a note says and must respect; `counted_at` is when the latest session began to count."""

    client_name: str
    client_email: str
    client_zone: str
    coach_name: str
    coach_email: str
    business_name: str
    quiet_from: time
    quiet_until: time
    counted_at: datetime
    missed: tuple[NotedSession, ...]


def list_clients_to_note(*, planned_session_ids: Iterable[UUID], counted_from: datetime) -> list[ClientToNote]:
    """Return the clients of these sessions who want a note, with those that began to count since an instant."""
    rows = (
        PlannedSession.objects.filter(
            id__in=list(planned_session_ids),
            due_at__gte=counted_from,
            client__missed_notes=True,
            client__state__in=_COACHED,
        )
        .exclude(client__email="")
        .order_by("client_id", "local_date", "id")
        .values_list("client_id", "client__time_zone", "id")
    )
    sessions: dict[tuple[UUID, str], list[UUID]] = {}
    for client_id, time_zone, session_id in rows:
        sessions.setdefault((client_id, time_zone), []).append(session_id)
    return [ClientToNote(*client, tuple(ids)) for client, ids in sessions.items()]


def missed_note_facts(*, client_id: UUID, planned_session_ids: Iterable[UUID]) -> MissedNoteFacts | None:
    """Return what a note is about as things are now, or None where it isn't wanted any more."""
    business = Business.objects.get(id=current_business_id())
    client = (
        Client.objects.select_related("coach__person")
        .filter(id=client_id, missed_notes=True, state__in=_COACHED)
        .exclude(email="")
        .first()
    )
    if client is None or not business.client_notes:
        return None
    sessions = list(
        PlannedSession.objects.filter(id__in=list(planned_session_ids), state=PlannedState.MISSED).order_by(
            "local_date", "id"
        )
    )
    counted = [session.due_at for session in sessions if session.due_at is not None]
    return MissedNoteFacts(
        client_name=client.name,
        client_email=client.email,
        client_zone=client.time_zone,
        coach_name=client.coach.person.name,
        coach_email=client.coach.person.email,
        business_name=business.name,
        quiet_from=business.quiet_from,
        quiet_until=business.quiet_until,
        counted_at=max(counted, default=datetime.min.replace(tzinfo=UTC)),
        missed=tuple(NotedSession(session.id, session.title, session.local_date) for session in sessions),
    )
