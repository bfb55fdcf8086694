"""Values that stand nowhere else, in every column that can hold something of a client; and dumps to look for them."""

from collections.abc import Iterable
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib.postgres.fields import ArrayField
from django.db import DatabaseError, connection, connections, models

from coaching.models import Client
from coaching.tenancy.client_models import client_models
from coaching.tenancy.models import BusinessScopedModel
from coaching.tenancy.scope import business_scope

TEXT = "Quokkaberry"
"""Begins every canary that is text; what is shorter than it is cut to its beginning."""

_TEXTS = (models.CharField, models.TextField)
_NUMBERS = (models.IntegerField, models.DecimalField)
_NO_FACTS = {"row_version", "revision"}
_SHORTEST = 6


def plant(business_id: UUID, client_id: UUID) -> tuple[set[str], set[tuple[str, str]]]:
    """Put a canary into every column of a client's rows that takes one.

    Returns:
        The canaries, as they stand in a dump; and the columns that have one.
    """
    model: Any
    planted: set[str] = set()
    columns: set[tuple[str, str]] = set()
    named = {"business": business_id, "client": client_id}
    with business_scope(business_id):
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for model, condition in [(Client, "id = %(client)s"), *((one.model, one.condition) for one in client_models())]:
            for column in model._meta.concrete_fields:
                value = _canary(column, len(columns))
                if value is not None and _write(column, condition, value, named):
                    planted |= set(_shown(value))
                    columns.add((model._meta.db_table, column.column))
    return planted, columns


def _canary(column: Any, number: int) -> Any:
    if column.choices or column.is_relation or column.primary_key or column.name in _NO_FACTS:
        return None
    if isinstance(column, ArrayField):
        inner = _canary(column.base_field, number)
        return None if inner is None or column.size else [inner]
    if isinstance(column, models.JSONField):
        return {"canary": f"{TEXT} {number}", "figure": 9_130_000 + number}
    if isinstance(column, models.BinaryField):
        return f"{TEXT} {number}".encode()[: column.max_length or 100]
    if isinstance(column, models.DateField) and not isinstance(column, models.DateTimeField):
        return date(1871, 1 + number % 12, 1 + number % 28)
    if isinstance(column, _TEXTS):
        text = f"{TEXT}{number}"
        return text if (column.max_length or 999) >= len(text) else None
    return _number(column, number)


def _number(column: Any, number: int) -> Any:
    if isinstance(column, models.DecimalField):
        whole = column.max_digits - column.decimal_places
        digits = "7319" + f"{number:03d}"
        return Decimal(digits[:whole] + "." + "9137"[: column.decimal_places]) if whole >= _SHORTEST else None
    if isinstance(column, models.SmallIntegerField | models.PositiveSmallIntegerField):
        return None
    return 731_900_000 + number if isinstance(column, models.IntegerField) else None


def _write(column: Any, condition: str, value: Any, named: dict[str, UUID]) -> bool:
    """Write it into one of the client's rows, unless a rule of the table is against it."""
    table = column.model._meta.db_table
    adapted = column.get_db_prep_save(value, connection)
    with connection.cursor() as cursor:
        cursor.execute("SAVEPOINT canary")
        try:
            cursor.execute(
                f"UPDATE {table} SET {column.column} = %(value)s WHERE id = (SELECT id FROM"
                f" {table} WHERE business_id = %(business)s AND {condition} ORDER BY id LIMIT 1)",
                {"value": adapted, **named},
            )
        except DatabaseError:
            cursor.execute("ROLLBACK TO SAVEPOINT canary")
            return False
        return bool(cursor.rowcount)


def _shown(value: Any) -> list[str]:
    match value:
        case bytes():
            return [value.decode()]
        case dict():
            return [str(one) for one in value.values()]
        case list():
            return [text for one in value for text in _shown(one)]
        case datetime() | time():
            return []
        case _:
            return [str(value)]


def dump(business_ids: Iterable[UUID]) -> str:
    """Return every row of every table as text: what is a business's as the service in its scope, the rest as the owner.

    Bytes stand readable beside their hexadecimal form.
    """
    parts = []
    with connections["owner"].cursor() as cursor:
        cursor.execute(
            "SELECT relname::text FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace"
        )
        tables = [name for (name,) in cursor.fetchall()]
        of_businesses = {
            model._meta.db_table
            for model in _models()
            if issubclass(model, BusinessScopedModel) or model._meta.db_table == "coaching_business"
        }
        parts += [_copied(cursor, table) for table in tables if table not in of_businesses]
    for business_id in business_ids:
        with business_scope(business_id), connection.cursor() as cursor:
            parts += [_copied(cursor, table) for table in tables if table in of_businesses]
    return "\n".join(parts)


def _models() -> list[type[models.Model]]:
    from django.apps import apps

    return list(apps.get_models())


def _copied(cursor: Any, table: str) -> str:
    with cursor.copy(f'COPY "{table}" TO STDOUT') as copy:
        rows = b"".join(bytes(part) for part in copy).decode()
    readable = [
        bytes.fromhex(word[3:]).decode(errors="replace")
        for word in rows.split()
        if word.startswith("\\\\x") and len(word) > 3
    ]
    return f"-- {table}\n{rows}\n" + "\n".join(readable)
