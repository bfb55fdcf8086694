"""The outbox: queue what is to be delivered, claim it by lease, deliver, mark.

Lease, send, mark: a crash between the receiver's accept and the mark sends a second copy under the same
Message-ID; marking first would lose one instead, and a missed alert is worse than a second one.

Three short transactions a message. The claim commits alone, so that a message which kills its worker
while it is written out is counted too; what it says is then checked under a lock on its row, so that
whoever withdraws its ground either comes first and is seen, or finds it `sending` and leaves it.
"""

import logging
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.db import connection, transaction

from coaching import registry
from coaching.delivery.email import DeliveryRefused, send_email
from coaching.models import OutboxMessage, OutboxState
from coaching.registry import Postponed, Rendered, Withdrawn
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope, current_business_id

logger = logging.getLogger(__name__)

LEASE: Final = timedelta(seconds=60)
CRASHES_ALLOWED: Final = 5


@dataclass(frozen=True, slots=True)
class NewMessage:
    """A message to queue among many."""

    kind: str
    dedupe_key: str
    payload: dict[str, Any]
    due_at: datetime


def queue_message(*, kind: str, dedupe_key: str, payload: dict[str, Any], due_at: datetime) -> UUID:
    """Queue a message in the transaction of what calls for it; the same `dedupe_key` queues nothing more.

    Returns:
        The id of the message, new or there before.
    """
    message, _created = OutboxMessage.objects.get_or_create(
        business_id=current_business_id(),
        dedupe_key=dedupe_key,
        defaults={"kind": kind, "payload": payload, "due_at": due_at},
    )
    return message.id


def queue_messages(*, messages: Iterable[NewMessage]) -> None:
    """Queue many messages in one statement; those whose `dedupe_key` is there already are left alone."""
    OutboxMessage.objects.bulk_create(
        [
            OutboxMessage(
                kind=message.kind,
                dedupe_key=message.dedupe_key,
                payload=message.payload,
                due_at=message.due_at,
            )
            for message in messages
        ],
        ignore_conflicts=True,
    )


def deliver_due_messages(business_id: UUID, now: datetime) -> bool:
    """Deliver one of a business's due messages; say whether more may be due.

    One at a time: businesses take turns between messages, and a conversation with a slow server, which
    is bounded, ends within the task's own limit.
    """
    token = new_id()
    with business_scope(business_id):
        claimed = _claim(token, now)
    if claimed is None:
        return False
    with business_scope(business_id):
        message = _prepared(claimed, token, now)
    if message is None:
        return True
    outcome = _sending_outcome(message)
    with business_scope(business_id):
        _mark(message, token, outcome, now)
    return True


def message_id_of(message: UUID) -> str:
    """Return the Message-ID of an outbox row: the same on every attempt, so that a copy is known as one."""
    return f"<{message}@{urlsplit(settings.PUBLIC_URL).hostname}>"


def _claim(token: UUID, now: datetime) -> UUID | None:
    # Leases run on the database's clock: workers' clocks may differ.
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_outboxmessage SET state = 'sending', lease_token = %s, "
            "lease_until = clock_timestamp() + make_interval(secs => %s), crashes = crashes + (state = 'sending')::int "
            "WHERE id = (SELECT id FROM coaching_outboxmessage WHERE business_id = %s AND due_at <= %s "
            "AND (state IN ('queued', 'retrying') OR (state = 'sending' AND lease_until < clock_timestamp())) "
            "ORDER BY due_at, id LIMIT 1 FOR UPDATE SKIP LOCKED) RETURNING id",
            [token, LEASE.total_seconds(), current_business_id(), now],
        )
        row = cursor.fetchone()
    return None if row is None else row[0]


def _prepared(claimed: UUID, token: UUID, now: datetime) -> OutboxMessage | None:
    """Return the message with what it says, or None where there is nothing to send (and that is marked)."""
    message = OutboxMessage.objects.select_for_update().filter(id=claimed, lease_token=token).first()
    if message is None:
        return None
    if message.crashes >= CRASHES_ALLOWED:
        logger.error("outbox message %s crashed its worker %s times: failed", message.id, message.crashes)
        _settle(message, token, OutboxState.FAILED, "It crashed the sender too often.", now)
        return None
    try:
        kind = registry.message_kinds[message.kind]
        with transaction.atomic():
            outcome = kind.prepare(message, now)
    except Exception:
        logger.exception("outbox message %s can't be written out", message.id)
        _mark_crashed(message, token, now)
        return None
    if isinstance(outcome, Withdrawn):
        _settle(message, token, OutboxState.WITHDRAWN, outcome.reason, now)
        return None
    if isinstance(outcome, Postponed):
        state = OutboxState.RETRYING if message.attempts or message.crashes else OutboxState.QUEUED
        _release(message, token, state=state, due_at=outcome.until)
        return None
    message.rendered = asdict(outcome)
    if not kind.holds_secret:
        message.save(update_fields=["rendered"])
    return message


def _sending_outcome(message: OutboxMessage) -> Exception | None:
    """Send, in no transaction; return what came in the way."""
    try:
        send_email(
            message=Rendered(**message.rendered or {}),
            sender=settings.DEFAULT_FROM_EMAIL,
            message_id=message_id_of(message.id),
        )
    except DeliveryRefused as refusal:
        return refusal
    except Exception as error:
        # Whatever a single message does to its sender, the others must still go out.
        logger.exception("outbox message %s broke its sender", message.id)
        return error
    return None


def _mark(message: OutboxMessage, token: UUID, outcome: Exception | None, now: datetime) -> None:
    if outcome is None:
        _settle(message, token, OutboxState.SENT, "", now)
    elif isinstance(outcome, DeliveryRefused):
        _mark_refused(message, token, outcome, now)
    else:
        _mark_crashed(message, token, now)


def _mark_crashed(message: OutboxMessage, token: UUID, now: datetime) -> None:
    _release(
        message,
        token,
        state=OutboxState.RETRYING,
        crashes=message.crashes + 1,
        due_at=now + LEASE,
        last_problem="It broke its sender; see the log of the worker.",
    )


def _mark_refused(message: OutboxMessage, token: UUID, refusal: DeliveryRefused, now: datetime) -> None:
    kind = registry.message_kinds[message.kind]
    waits, attempts = kind.retry_after, message.attempts + 1
    # A server that dislikes a link may say it back.
    problem = str(refusal).partition(":")[0] if kind.holds_secret else str(refusal)
    if refusal.final or attempts > len(waits):
        _settle(message, token, OutboxState.FAILED, problem, now, attempts=attempts)
        return
    _release(
        message,
        token,
        state=OutboxState.RETRYING,
        attempts=attempts,
        due_at=now + waits[attempts - 1],
        last_problem=problem,
    )


def _settle(
    message: OutboxMessage, token: UUID, state: OutboxState, problem: str, now: datetime, **changes: Any
) -> None:
    _release(message, token, state=state, last_problem=problem, settled_at=now, **changes)


def _release(message: OutboxMessage, token: UUID, **changes: Any) -> None:
    # Fenced: a worker whose lease ran out must not overwrite what its successor did.
    OutboxMessage.objects.filter(id=message.id, lease_token=token).update(lease_token=None, lease_until=None, **changes)
