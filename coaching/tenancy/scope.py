"""The business that the running request or task works for, set for one transaction."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from uuid import UUID

from django.db import connection, transaction

_current: ContextVar[UUID | None] = ContextVar("business_id", default=None)


class NoBusinessSetError(RuntimeError):
    """A table of a business was asked for outside any business's scope."""


class NestedBusinessScopeError(RuntimeError):
    """A business's scope was opened inside another: the inner one's setting would outlive it."""


def current_business_id() -> UUID:
    """Return the business in scope.

    Raises:
        NoBusinessSetError: when no scope is open.
    """
    business_id = _current.get()
    if business_id is None:
        raise NoBusinessSetError("No business is set: enter business_scope(business_id) first.")
    return business_id


@contextmanager
def business_scope(business_id: UUID) -> Iterator[None]:
    """Open a transaction that sees and writes this business's rows only.

    The setting is transaction-local, so that a pooled or kept connection never carries it on.

    Raises:
        NestedBusinessScopeError: when a scope is already open.
    """
    if _current.get() is not None:
        raise NestedBusinessScopeError("A business is already set: leave its scope before entering another.")
    inside_another_transaction = connection.in_atomic_block
    with transaction.atomic():
        token = _current.set(business_id)
        try:
            _set_business(str(business_id))
            yield
            if inside_another_transaction and not connection.needs_rollback:
                # Released savepoints keep their settings: take it back by hand.
                _set_business("")
        finally:
            # Before the commit: what waits for it runs after the database's own setting has ended.
            _current.reset(token)


def _set_business(value: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config('app.business_id', %s, true)", [value])
