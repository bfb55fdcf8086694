"""Pages by keyset: signed cursors, a total order that ends in the id, no count.

A page starts after the last row of the one before by a row comparison, so that the index seeks to it and
rows inserted or deleted meanwhile make none be skipped or seen twice.
"""

import hashlib
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from operator import itemgetter
from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID

from django.core import signing
from django.db.models import F, QuerySet
from django.db.models.fields.tuple_lookups import (  # type: ignore[import-untyped]  # not in the stubs: undocumented
    Tuple,
    TupleGreaterThan,
    TupleLessThan,
)
from django.http import HttpRequest

from coaching.refusals import Invalid

_UNFILTERED: Final = frozenset({"cursor", "limit"})
_WRITERS: Final[tuple[tuple[type, str, Callable[[Any], Any]], ...]] = (
    (bool, "b", bool),
    (int, "i", int),
    (str, "s", str),
    (UUID, "u", str),
    (datetime, "t", datetime.isoformat),
    (date, "d", date.isoformat),
    (Decimal, "n", str),
)
_READERS: Final[dict[str, Callable[[Any], Any]]] = {
    "b": bool,
    "i": int,
    "s": str,
    "u": UUID,
    "t": datetime.fromisoformat,
    "d": date.fromisoformat,
    "n": Decimal,
}


@dataclass(frozen=True, slots=True)
class Page:
    """The rows of a page, and the address of the next or None."""

    rows: list[Any]
    next_url: str | None


@dataclass(frozen=True, slots=True)
class Keyset:
    """A total order: columns all rising or, each written with `-`, all falling; the last is unique.

    Attributes:
        order: such as `("name", "id")` or `("-created_at", "-id")`; no column may be null.
        salt: what the cursor is signed for: the operation and the business.
    """

    order: tuple[str, ...]
    salt: str

    def __post_init__(self) -> None:
        if len({column.startswith("-") for column in self.order}) != 1:
            raise ValueError("A keyset's columns all rise or all fall.")

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns, without their direction."""
        return tuple(column.removeprefix("-") for column in self.order)

    def page(self, request: HttpRequest, rows: QuerySet[Any], *, cursor: str | None, limit: int) -> Page:
        """Fetch a page; rows may be model rows or `.values()` with the order's columns among them.

        Raises:
            Invalid: the cursor is not one of this list, with these filters.
        """
        if cursor is not None:
            rows = rows.filter(self._after(self._read(cursor, request)))
        return self._cut(request, list(rows.order_by(*self.order)[: limit + 1]), limit)

    def page_of_computed(self, request: HttpRequest, rows: Sequence[Any], *, cursor: str | None, limit: int) -> Page:
        """Cut a page from rows that are computed, not stored, by the same cursors; the order is a rising one.

        Raises:
            Invalid: the cursor is not one of this list, with these filters.
        """
        keyed = sorted(((self._values(row), row) for row in rows), key=itemgetter(0))
        if cursor is not None:
            last = self._read(cursor, request)
            keyed = keyed[bisect_right(keyed, last, key=itemgetter(0)) :]
        return self._cut(request, [row for _, row in keyed[: limit + 1]], limit)

    def _cut(self, request: HttpRequest, found: list[Any], limit: int) -> Page:
        if len(found) <= limit:
            return Page(found, None)
        return Page(found[:limit], self._next_url(request, found[limit - 1]))

    def _after(self, last: Sequence[Any]) -> Any:
        comparison = TupleLessThan if self.order[0].startswith("-") else TupleGreaterThan
        return comparison(Tuple(*(F(column) for column in self.columns)), tuple(last))

    def _read(self, cursor: str, request: HttpRequest) -> list[Any]:
        try:
            content = signing.loads(cursor, salt=self.salt)
        except signing.BadSignature:
            raise _not_a_cursor("it was not made for this list") from None
        if content["f"] != _filters(request):
            raise _not_a_cursor("it was made with other filters")
        if content["o"] != list(self.order):
            raise _not_a_cursor("it was made for another order")
        return [_READERS[tag](value) for tag, value in content["v"]]

    def _values(self, row: Any) -> list[Any]:
        return [_column(row, column) for column in self.columns]

    def _next_url(self, request: HttpRequest, last: Any) -> str:
        values = [_tagged(value) for value in self._values(last)]
        content = {"f": _filters(request), "o": list(self.order), "v": values}
        query = {name: value for name, value in request.GET.items() if name != "cursor"}
        query["cursor"] = signing.dumps(content, salt=self.salt)
        return f"{request.build_absolute_uri(request.path)}?{urlencode(query)}"


def _column(row: Any, column: str) -> Any:
    if isinstance(row, dict):
        return row[column]
    for part in column.split("__"):
        row = getattr(row, part)
    return row


def _tagged(value: Any) -> list[Any]:
    for kind, tag, write in _WRITERS:
        if isinstance(value, kind):
            return [tag, write(value)]
    raise TypeError(f"{type(value).__name__} can't stand in a cursor")


def _filters(request: HttpRequest) -> str:
    used = sorted((name, value) for name, value in request.GET.items() if name not in _UNFILTERED)
    return hashlib.sha256(repr(used).encode()).hexdigest()[:16]


def _not_a_cursor(why: str) -> Invalid:
    return Invalid.at("?cursor", f"This cursor can't be used: {why}. Start again without it.", "invalid_cursor")
