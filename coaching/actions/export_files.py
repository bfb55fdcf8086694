"""Write the file that was asked for, table by table and page by page, each in a short transaction of its own."""

from collections.abc import Callable
from datetime import UTC, date, datetime, time
from typing import IO, Any, Final
from uuid import UUID

from django.db.models import Q

from coaching.exports.archive import Archive
from coaching.exports.tables import Table, business_tables, client_tables, trail_table
from coaching.models import Client, Operation, OperationKind
from coaching.tenancy.scope import business_scope

FILE_BYTES_AT_MOST: Final = 536_870_912
ROWS_AT_ONCE: Final = 2_000
ROWS_A_TRANSACTION: Final = 20_000
"""After so many the lease is renewed, and the database's limit of a transaction begins anew."""

_TITLES: Final = {
    OperationKind.CLIENT_EXPORT: "The whole record of a client.",
    OperationKind.BUSINESS_EXPORT: "All that the business holds.",
    OperationKind.AUDIT_EXPORT: "Who did what, when and from where.",
}


class FileTooLarge(Exception):  # noqa: N818 -- ends the operation, no error of ours
    """The file would be larger than the service keeps."""


def write_file(operation: Operation, file: IO[bytes], *, business_id: UUID, go_on: Callable[[float], bool]) -> bool:
    """Write an operation's file.

    Args:
        operation: what was asked for.
        file: where to.
        business_id: the business, in no scope yet.
        go_on: told how far it is (0 to 1) between tables; says whether to go on.

    Returns:
        Whether it was written to its end.

    Raises:
        FileTooLarge: it would be larger than the service keeps.
    """
    with business_scope(business_id):
        tables = _tables(operation)
    kind = OperationKind(operation.kind)
    about = {
        "kind": kind.value,
        "asked_at": operation.created_at,
        "business": business_id,
        "client": operation.client_id,
        "for_role": operation.requested_as,
    }
    with Archive(file, title=_TITLES[kind], about=about) as archive:
        for number, table in enumerate(tables):
            archive.begin(table.name, table.columns)
            more, last = True, None
            while more:
                if not go_on(number / len(tables)):
                    return False
                with business_scope(business_id):
                    ids = table.ids_after(last, at_most=ROWS_A_TRANSACTION)
                    for start in range(0, len(ids), ROWS_AT_ONCE):
                        archive.add(table.rows_of(ids[start : start + ROWS_AT_ONCE]))
                if file.tell() > FILE_BYTES_AT_MOST:
                    raise FileTooLarge("The file would be larger than 512 MiB; ask for it client by client.")
                more, last = len(ids) == ROWS_A_TRANSACTION, ids[-1] if ids else None
    return True


def _tables(operation: Operation) -> list[Table]:
    if operation.kind == OperationKind.AUDIT_EXPORT:
        return [trail_table(_wanted(operation.wanted))]
    if operation.kind == OperationKind.BUSINESS_EXPORT:
        return business_tables()
    if operation.client_id is None or not Client.objects.filter(id=operation.client_id).exists():
        return []
    return client_tables(
        client_id=operation.client_id, role=operation.requested_as, membership_id=operation.requested_by
    )


def _wanted(asked: dict[str, Any]) -> Q:
    named = {"actor": "actor_id", "operation": "operation", "object": "object_id", "address": "address"}
    wanted = Q(**{column: asked[name] for name, column in named.items() if name in asked})
    if "from" in asked:
        wanted &= Q(at__gte=_instant(asked["from"], time.min))
    if "to" in asked:
        wanted &= Q(at__lte=_instant(asked["to"], time.max))
    return wanted


def _instant(day: str, at: time) -> datetime:
    return datetime.combine(date.fromisoformat(day), at, UTC)
