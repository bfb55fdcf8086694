"""Reading long work, and the files that it made."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db.models import Q

from coaching.models import Operation, OperationKind, OperationPart, OperationState, Role
from coaching.policy import Principal, client_rows
from coaching.refusals import Conflict, Gone, NotFound

_GONE: Final = "The file was kept for a day and is deleted; ask for a new export."


class OperationNotDone(Conflict):
    """The operation has made no file yet, or never will."""

    code = "operation_not_done"


class ResultGone(Gone):
    """The file was deleted in its time."""

    code = "result_gone"


def operation_rows(actor: Principal) -> Q:
    """Return the filter of the operations that somebody may see: an owner all, a head coach those of clients.

    An owner's file of a client also says what the trail has of them, which is for owners only.
    A client sees their own only: the team's file of the same record holds what is the team's.
    """
    if actor.role == Role.OWNER:
        return Q()
    if actor.role == Role.HEAD_COACH:
        return Q(kind=OperationKind.CLIENT_EXPORT) & ~Q(requested_as=Role.OWNER)
    return Q(kind=OperationKind.CLIENT_EXPORT, requested_by=actor.membership_id) & client_rows(actor)


def get_operation(*, actor: Principal, operation_id: UUID) -> Operation:
    """Return an operation.

    Raises:
        NotFound: there is none such that the caller may see.
    """
    found = Operation.objects.filter(operation_rows(actor), id=operation_id).first()
    if found is None:
        raise NotFound("There is no such operation that you may see.")
    return found


def get_finished(*, actor: Principal, operation_id: UUID, now: datetime) -> Operation:
    """Return an operation whose file is there.

    Raises:
        NotFound: there is no such operation that the caller may see.
        OperationNotDone: it has no file.
        ResultGone: its file is kept no longer.
    """
    operation = get_operation(actor=actor, operation_id=operation_id)
    if operation.state != OperationState.SUCCEEDED:
        raise OperationNotDone(f"This operation is {operation.state}; there is a file once it has succeeded.")
    if operation.size_bytes == 0 or operation.expires_at is None or operation.expires_at <= now:
        raise ResultGone(_GONE)
    return operation


def iterate_parts(operation_id: UUID) -> Iterator[bytes]:
    """Return the pieces of a file that are there, in order, one in memory at a time."""
    parts = OperationPart.objects.filter(operation_id=operation_id)
    for part_id in list(parts.order_by("number").values_list("id", flat=True)):
        yield bytes(parts.filter(id=part_id).values_list("content", flat=True).first() or b"")


def iterate_whole(operation: Operation) -> Iterator[bytes]:
    """Return the pieces of an operation's file, as `iterate_parts` does.

    Raises:
        ResultGone: some were deleted since the operation was read, by their time or by an erasure.
    """
    left_bytes = operation.size_bytes
    for content in iterate_parts(operation.id):
        left_bytes -= len(content)
        yield content
    if left_bytes:
        raise ResultGone(_GONE)
