"""Changing a row only at the version that the caller saw: the check is the write."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from coaching.refusals import NotFound, PreconditionFailed

Versions = frozenset[int] | None
"""The row versions that a change may start from; None is any."""


def bump(rows: QuerySet[Any], row_id: UUID, versions: Versions, **changes: Any) -> None:
    """Write changes and raise the row's version, if it still has one of the versions given.

    Args:
        rows: the rows that the caller may change; must have `row_version`.
        row_id: which one.
        versions: what `If-Match` admits, or None.
        changes: the new values of its columns; none still raises the version.

    Raises:
        NotFound: no such row among those rows.
        PreconditionFailed: it has another version by now.
    """
    if _matching(rows, row_id, versions).update(row_version=F("row_version") + 1, **changes) == 0:
        _refuse(rows, row_id)


def _matching(rows: QuerySet[Any], row_id: UUID, versions: Versions) -> QuerySet[Any]:
    matching = rows.filter(id=row_id)
    return matching if versions is None else matching.filter(row_version__in=versions)


def _refuse(rows: QuerySet[Any], row_id: UUID) -> None:
    found = rows.filter(id=row_id).values_list("row_version", flat=True).first()
    if found is None:
        raise NotFound("There is nothing at this path that you may see; check the path and the id.")
    raise PreconditionFailed(f'It is at version "v{found}" by now; read it again and send your change with that ETag.')
