"""Do the long work that is asked for: take a row by lease, make its file, keep it for a day.

A worker that dies leaves its lease to run out, and another begins anew; what the first has made of the file was never
kept. Whoever cancels, or erases whom the file is about, takes the lease away: what is made then is thrown away.
"""

import logging
from datetime import datetime, timedelta
from functools import partial
from tempfile import TemporaryFile
from typing import IO, Final
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet

from coaching.actions.audit_trail import Origin, record_operation
from coaching.actions.export_files import FileTooLarge, write_file
from coaching.models import Operation, OperationKind, OperationPart, OperationState
from coaching.policy import Principal
from coaching.refusals import Conflict
from coaching.selectors.operations import get_finished, get_operation
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope, current_business_id

logger = logging.getLogger(__name__)

LEASE: Final = timedelta(seconds=120)
ATTEMPTS_ALLOWED: Final = 5
KEPT_FOR: Final = timedelta(hours=24)
ROWS_KEPT_FOR: Final = timedelta(days=90)
PART_BYTES: Final = 1_048_576


class OperationEnded(Conflict):
    """The operation has ended; nothing is left to cancel."""

    code = "operation_ended"


def cancel_operation(*, actor: Principal, operation_id: UUID, now: datetime) -> Operation:
    """Cancel what waits or runs; cancelling it again changes nothing.

    Raises:
        NotFound: there is no such operation that the caller may see.
        OperationEnded: it has succeeded or failed.
    """
    get_operation(actor=actor, operation_id=operation_id)
    open_ones = Operation.objects.filter(id=operation_id, state__in=[OperationState.QUEUED, OperationState.RUNNING])
    open_ones.update(state=OperationState.CANCELLED, lease_token=None, lease_until=None, ended_at=now)
    operation = get_operation(actor=actor, operation_id=operation_id)
    if operation.state != OperationState.CANCELLED:
        raise OperationEnded(f"This operation has {operation.state}; there is nothing left to cancel.")
    return operation


def take_result(*, actor: Principal, operation_id: UUID, origin: Origin, now: datetime) -> Operation:
    """Return an operation whose file is about to be handed out, and write down that it is.

    Raises:
        NotFound: there is no such operation that the caller may see.
        OperationNotDone: it has no file.
        ResultGone: its file is kept no longer.
    """
    operation = get_finished(actor=actor, operation_id=operation_id, now=now)
    record_operation(actor=actor, operation="operations.result", origin=origin, now=now, object_id=str(operation_id))
    return operation


def run_operations(business_id: UUID, now: datetime) -> bool:
    """Do one of a business's operations, and delete its files that are over; say whether more may be due."""
    token = new_id()
    with business_scope(business_id):
        delete_old_files(now=now)
        operation = _claim(token)
    if operation is None:
        return False
    if operation.state == OperationState.FAILED:
        return True
    try:
        with TemporaryFile() as file:
            held = partial(_renew, business_id, operation.id, token)
            if write_file(operation, file, business_id=business_id, go_on=held):
                with business_scope(business_id):
                    _finish(operation, token, file, now)
    except FileTooLarge as error:
        with business_scope(business_id):
            _held(operation, token).update(
                state=OperationState.FAILED, problem=str(error), ended_at=now, lease_token=None, lease_until=None
            )
    except Exception:
        logger.exception("operation %s broke; it is tried again", operation.id)
        with business_scope(business_id):
            _held(operation, token).update(state=OperationState.QUEUED, lease_token=None, lease_until=None)
        return False
    return True


def delete_old_files(*, now: datetime) -> None:
    """Delete the files that were kept long enough, in the business in scope, and rows of long ago."""
    over = Operation.objects.filter(size_bytes__gt=0, expires_at__lte=now)
    OperationPart.objects.filter(operation__in=over).delete()
    over.update(size_bytes=0)
    Operation.objects.filter(created_at__lt=now - ROWS_KEPT_FOR).delete()


def forget_business_files(_client_id: UUID, now: datetime) -> tuple[str, int]:
    """Delete the business's exports, which hold a client who is being erased; those being made begin anew."""
    exports = Operation.objects.filter(kind=OperationKind.BUSINESS_EXPORT)
    # Those that wait are written too: until the erasure is done no worker can take a locked row.
    exports.filter(state__in=[OperationState.QUEUED, OperationState.RUNNING]).update(
        state=OperationState.QUEUED, lease_token=None, lease_until=None
    )
    kept = exports.filter(size_bytes__gt=0)
    OperationPart.objects.filter(operation__in=kept).delete()
    return Operation._meta.db_table, kept.update(size_bytes=0, expires_at=now)


def _claim(token: UUID) -> Operation | None:
    # Leases run on the database's clock: workers' clocks may differ.
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_operation SET attempts = attempts + 1, progress = 0,"
            " state = CASE WHEN attempts >= %(allowed)s THEN 'failed' ELSE 'running' END,"
            " problem = CASE WHEN attempts >= %(allowed)s THEN %(problem)s ELSE '' END,"
            " ended_at = CASE WHEN attempts >= %(allowed)s THEN clock_timestamp() END,"
            " lease_token = CASE WHEN attempts < %(allowed)s THEN %(token)s::uuid END,"
            " lease_until = CASE WHEN attempts < %(allowed)s"
            "  THEN clock_timestamp() + make_interval(secs => %(lease_s)s) END"
            " WHERE id = (SELECT id FROM coaching_operation WHERE business_id = %(business)s"
            "  AND (state = 'queued' OR (state = 'running' AND lease_until < clock_timestamp()))"
            "  ORDER BY created_at, id LIMIT 1 FOR UPDATE SKIP LOCKED) RETURNING id",
            {
                "allowed": ATTEMPTS_ALLOWED,
                "problem": f"It was tried {ATTEMPTS_ALLOWED} times and never came to its end; ask the operator.",
                "token": token,
                "lease_s": LEASE.total_seconds(),
                "business": current_business_id(),
            },
        )
        row = cursor.fetchone()
    return None if row is None else Operation.objects.get(id=row[0])


def _held(operation: Operation, token: UUID) -> QuerySet[Operation]:
    return Operation.objects.filter(id=operation.id, state=OperationState.RUNNING, lease_token=token)


def _renew(business_id: UUID, operation_id: UUID, token: UUID, progress: float) -> bool:
    """Say how far it is and hold it on; False where it was taken away."""
    with business_scope(business_id), connection.cursor() as cursor:
        cursor.execute(
            "UPDATE coaching_operation SET progress = %s,"
            " lease_until = clock_timestamp() + make_interval(secs => %s)"
            " WHERE business_id = %s AND id = %s AND state = 'running' AND lease_token = %s",
            [round(progress, 3), LEASE.total_seconds(), business_id, operation_id, token],
        )
        held: int = cursor.rowcount
    return held == 1


def _finish(operation: Operation, token: UUID, file: IO[bytes], now: datetime) -> None:
    size_bytes = file.seek(0, 2)
    done = _held(operation, token).update(
        state=OperationState.SUCCEEDED,
        progress=1,
        lease_token=None,
        lease_until=None,
        file_name=f"{operation.kind.replace('_', '-')}-{now:%Y-%m-%d}.zip",
        size_bytes=size_bytes,
        ended_at=now,
        expires_at=now + KEPT_FOR,
    )
    if not done:
        return
    file.seek(0)
    number = 0
    while content := file.read(PART_BYTES):
        OperationPart.objects.create(operation_id=operation.id, number=number, content=content)
        number += 1
