"""Where a text stands in the database, by table and column: the operator's proof after an erasure."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import connections
from psycopg import sql

from coaching.tenancy.scope import business_scope


@dataclass(frozen=True, slots=True)
class Found:
    """How many rows of a column hold a text; `text` is its place among those asked for."""

    text: int
    table: str
    column: str
    rows: int


@dataclass(frozen=True, slots=True)
class _Table:
    schema: str
    name: str
    secured: bool
    columns: tuple[tuple[str, str], ...]

    def statement(self, text: str) -> sql.Composed:
        """Count, for each column, the rows that hold a text, as columns of its type write it."""
        counts = [
            sql.SQL("count(*) FILTER (WHERE {})").format(
                sql.SQL(" OR ").join(_holds(sql.Identifier(column), kind, form) for form in _forms(text))
            )
            for column, kind in self.columns
        ]
        return sql.SQL("SELECT {} FROM {}").format(sql.SQL(", ").join(counts), sql.Identifier(self.schema, self.name))


def _forms(text: str) -> list[str]:
    """Return a text as it is, and as JSON writes it."""
    return sorted({text, json.dumps(text, ensure_ascii=False)[1:-1], json.dumps(text)[1:-1]})


def _holds(column: sql.Identifier, kind: str, text: str) -> sql.Composed:
    if kind != "bytea":
        return sql.SQL("position(lower({}) IN lower({}::text)) > 0").format(sql.Literal(text), column)
    # Of bytes only ASCII has a case: of other letters those are found that are written as asked, all small or all big.
    written = sorted({text, text.lower(), text.upper()})
    return sql.SQL("({})").format(
        sql.SQL(" OR ").join(
            sql.SQL(
                "position(lower(encode(convert_to({}, 'UTF8'), 'escape')) IN lower(encode({}, 'escape'))) > 0"
            ).format(sql.Literal(one), column)
            for one in written
        )
    )


def find_in_database(texts: Sequence[str]) -> list[Found]:
    """Search every column of every table, of all businesses, whatever their case.

    Tables of a business are read in each business in turn, as the service; all others as the owner. Files that are
    kept packed are not unpacked.
    """
    with connections["owner"].cursor() as cursor:
        tables = _tables(cursor)
        cursor.execute("SELECT id FROM coaching_business ORDER BY id")
        business_ids: list[UUID] = [row[0] for row in cursor.fetchall()]
        counts = _counted(cursor, [table for table in tables if not table.secured], texts)
    secured = [table for table in tables if table.secured]
    for business_id in business_ids:
        with business_scope(business_id), connections["default"].cursor() as cursor:
            for place, rows in _counted(cursor, secured, texts).items():
                counts[place] = counts.get(place, 0) + rows
    return [Found(*place, rows) for place, rows in sorted(counts.items()) if rows]


def _counted(cursor: Any, tables: Iterable[_Table], texts: Sequence[str]) -> dict[tuple[int, str, str], int]:
    counts: dict[tuple[int, str, str], int] = {}
    for table in tables:
        for number, text in enumerate(texts):
            cursor.execute(table.statement(text))
            for (column, _kind), rows in zip(table.columns, cursor.fetchone(), strict=True):
                counts[number, table.name, column] = rows
    return counts


def _tables(cursor: Any) -> list[_Table]:
    cursor.execute(
        "SELECT n.nspname::text, c.relname::text, c.relrowsecurity,"
        " array_agg(a.attname::text ORDER BY a.attnum), array_agg(format_type(a.atttypid, NULL) ORDER BY a.attnum)"
        " FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace"
        " JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped"
        " WHERE c.relkind IN ('r', 'm') AND c.relpersistence <> 't'"
        " AND n.nspname NOT IN ('pg_catalog', 'information_schema') AND n.nspname NOT LIKE 'pg\\_toast%%'"
        " GROUP BY n.nspname, c.relname, c.relrowsecurity ORDER BY 1, 2",
        [],
    )
    return [
        _Table(schema, name, secured, tuple(zip(columns, kinds, strict=True)))
        for schema, name, secured, columns, kinds in cursor.fetchall()
    ]
