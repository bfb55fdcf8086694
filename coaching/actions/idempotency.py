"""Answers kept under an Idempotency-Key, so that a retry changes nothing."""

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.models.idempotency import IdempotentAnswer

KEPT: Final = timedelta(hours=48)


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """What a request was answered; `named` are the ids in it and in the request, by which an erasure finds it."""

    fingerprint: str
    status: int
    headers: dict[str, str]
    body: bytes
    named: frozenset[UUID] = frozenset()


def lock_idempotency_key(*, credential_id: UUID, key: str) -> bool:
    """Take the key for this transaction; false while another request holds it.

    An advisory lock of the transaction: a process killed in the middle leaves no key stuck.
    """
    digest = hashlib.sha256(f"{credential_id}:{key}".encode()).digest()
    number = int.from_bytes(digest[:8], "big", signed=True)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [number])
        row = cursor.fetchone()
    return bool(row and row[0])


def find_answer(*, credential_id: UUID, key: str) -> KeptAnswer | None:
    """Return what was answered under the key. Look only after the lock: a lock taken later sees the row."""
    row = (
        IdempotentAnswer.objects.filter(credential_id=credential_id, key=key)
        .values_list("fingerprint", "status", "headers", "body")
        .first()
    )
    return KeptAnswer(row[0], row[1], row[2], bytes(row[3])) if row else None


def keep_answer(*, credential_id: UUID, key: str, answer: KeptAnswer) -> None:
    """Keep an answer in the transaction of what it answers."""
    IdempotentAnswer.objects.create(
        credential_id=credential_id,
        key=key,
        fingerprint=answer.fingerprint,
        status=answer.status,
        headers=answer.headers,
        body=answer.body,
        named=sorted(answer.named),
    )


def purge_answers(*, now: datetime) -> int:
    """Delete this business's answers older than 48 hours; return how many."""
    deleted, _by_model = IdempotentAnswer.objects.filter(created_at__lt=now - KEPT).delete()
    return deleted
