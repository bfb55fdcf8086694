"""The outbox: queue what is to be delivered, claim it by lease, deliver, mark.

Lease, send, mark: a crash between the receiver's accept and the mark sends a second copy under the same
Message-ID; marking first would lose one instead, and a missed alert is worse than a second one.
"""

import logging
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any, Final
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.db import connection, transaction

from coaching import registry
from coaching.delivery.email import DeliveryRefused, send_email
from coaching.models import OutboxMessage, OutboxState
from coaching.registry import Rendered, Withdrawn
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope, current_business_id

logger = logging.getLogger(__name__)

LEASE: Final = timedelta(seconds=60)
CRASHES_ALLOWED: Final = 5
MESSAGES_A_PIECE: Final = 5


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


def deliver_due_messages(business_id: UUID, now: datetime) -> bool:
    """Deliver a few of a business's due messages; say whether more may be due."""
    for _ in range(MESSAGES_A_PIECE):
        if not _deliver_one(business_id, now):
            return False
    return True


def _deliver_one(business_id: UUID, now: datetime) -> bool:
    token = new_id()
    with business_scope(business_id):
        message = _claim(token, now)
        if message is None:
            return False
        rendered = _prepare(message, token, now)
    if rendered is None:
        return True
    try:
        send_email(
            message=rendered, sender=settings.DEFAULT_FROM_EMAIL, message_id=message_id_of(message.id)
        )
    except DeliveryRefused as refusal:
        with business_scope(business_id):
            _mark_refused(message, token, refusal, now)
    else:
        with business_scope(business_id):
            _settle(message, token, OutboxState.SENT, "", now)
    return True


def message_id_of(message: UUID) -> str:
    """Return the Message-ID of an outbox row: the same on every attempt, so that a copy is known as one."""
    return f"<{message}@{urlsplit(settings.PUBLIC_URL).hostname}>"


def _claim(token: UUID, now: datetime) -> OutboxMessage | None:
    # Leases run on the database's clock: workers' clocks may differ.
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_outboxmessage SET state = 'sending', lease_token = %s, "
            "lease_until = clock_timestamp() + %s, crashes = crashes + (state = 'sending')::int "
            "WHERE id = (SELECT id FROM coaching_outboxmessage WHERE business_id = %s AND due_at <= %s "
            "AND (state IN ('queued', 'retrying') OR (state = 'sending' AND lease_until < clock_timestamp())) "
            "ORDER BY due_at, id LIMIT 1 FOR UPDATE SKIP LOCKED) RETURNING id",
            [token, LEASE, current_business_id(), now],
        )
        row = cursor.fetchone()
    return None if row is None else OutboxMessage.objects.get(id=row[0])


def _prepare(message: OutboxMessage, token: UUID, now: datetime) -> Rendered | None:
    if message.crashes >= CRASHES_ALLOWED:
        logger.error("outbox message %s crashed its worker %s times: failed", message.id, message.crashes)
        _settle(message, token, OutboxState.FAILED, "It crashed the sender too often.", now)
        return None
    try:
        with transaction.atomic():
            outcome = registry.message_kinds[message.kind].prepare(message, now)
    except Exception:
        logger.exception("outbox message %s can't be prepared", message.id)
        _mark_crashed(message, token, now)
        return None
    if isinstance(outcome, Withdrawn):
        _settle(message, token, OutboxState.WITHDRAWN, outcome.reason, now)
        return None
    OutboxMessage.objects.filter(id=message.id, lease_token=token).update(rendered=asdict(outcome))
    return outcome


def _mark_crashed(message: OutboxMessage, token: UUID, now: datetime) -> None:
    OutboxMessage.objects.filter(id=message.id, lease_token=token).update(
        state=OutboxState.RETRYING,
        crashes=message.crashes + 1,
        due_at=now + LEASE,
        lease_token=None,
        lease_until=None,
        last_problem="It can't be written out; see the log of the worker.",
    )


def _mark_refused(message: OutboxMessage, token: UUID, refusal: DeliveryRefused, now: datetime) -> None:
    waits = registry.message_kinds[message.kind].retry_after
    attempts = message.attempts + 1
    if refusal.final or attempts > len(waits):
        _settle(message, token, OutboxState.FAILED, str(refusal), now)
        return
    OutboxMessage.objects.filter(id=message.id, lease_token=token).update(
        state=OutboxState.RETRYING,
        attempts=attempts,
        due_at=now + waits[attempts - 1],
        lease_token=None,
        lease_until=None,
        last_problem=str(refusal),
    )


def _settle(message: OutboxMessage, token: UUID, state: OutboxState, problem: str, now: datetime) -> None:
    # Fenced: a worker whose lease ran out must not overwrite what its successor did.
    OutboxMessage.objects.filter(id=message.id, lease_token=token).update(
        state=state, lease_token=None, lease_until=None, last_problem=problem, settled_at=now
    )
