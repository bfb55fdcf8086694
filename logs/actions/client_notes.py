"""The gentle note to a client after a missed session, where business and client both want it."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from coaching.actions.outbox import NewMessage, queue_messages
from coaching.measures.local_calendar import local_date_of
from coaching.measures.quiet_hours import outside_quiet_hours
from coaching.models import Business, OutboxMessage
from coaching.registry import Postponed, Rendered, Withdrawn
from coaching.tenancy.scope import current_business_id
from logs.documents.missed_note import missed_note
from logs.selectors.client_notes import list_clients_to_note, missed_note_facts

MISSED_NOTE = "missed_note"

OF_USE_FOR: Final = timedelta(hours=36)
"""How long after the sessions began to count as missed a note still helps; covers a night of quiet. Practice."""


def queue_client_notes(*, planned_session_ids: Iterable[UUID], now: datetime) -> None:
    """Queue a note to each client who wants one, at most one for a client and local day, outside quiet hours."""
    business = Business.objects.get(id=current_business_id())
    if not business.client_notes:
        return
    messages = []
    for client in list_clients_to_note(planned_session_ids=planned_session_ids, counted_from=now - OF_USE_FOR):
        due_at = outside_quiet_hours(now, client.time_zone, business.quiet_from, business.quiet_until)
        messages.append(
            NewMessage(
                kind=MISSED_NOTE,
                dedupe_key=f"{MISSED_NOTE}:{client.client_id}:{local_date_of(due_at, client.time_zone)}",
                payload={
                    "client": str(client.client_id),
                    "planned_sessions": [str(session_id) for session_id in client.planned_session_ids],
                },
                due_at=due_at,
            )
        )
    queue_messages(messages=messages)


def prepare_client_note(message: OutboxMessage, now: datetime) -> Rendered | Withdrawn | Postponed:
    """Look again whether the note is wanted, true and timely, and say it."""
    facts = missed_note_facts(
        client_id=UUID(message.payload["client"]),
        planned_session_ids=[UUID(session_id) for session_id in message.payload["planned_sessions"]],
    )
    if facts is None:
        return Withdrawn("The client no longer wants such notes, or is not coached now.")
    if not facts.missed:
        return Withdrawn("The sessions were logged, excused or moved.")
    if now - facts.counted_at > OF_USE_FOR:
        return Withdrawn("It came too late to be of use.")
    allowed_at = outside_quiet_hours(now, facts.client_zone, facts.quiet_from, facts.quiet_until)
    if allowed_at > now:
        return Postponed(allowed_at)
    said = [str(session.planned_session_id) for session in facts.missed]
    if message.rendered is not None and message.payload.get("said") == said:
        return Rendered(**message.rendered)
    message.payload = {**message.payload, "said": said}
    message.save(update_fields=["payload"])
    return missed_note(facts)
