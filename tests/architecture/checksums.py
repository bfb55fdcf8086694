"""Whether anything of a business has changed."""

from collections.abc import Iterable
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import business_scope
from tests.business_models import BUSINESS_MODELS

BUSINESS_TABLES = sorted(model._meta.db_table for model in BUSINESS_MODELS)
TABLES_OF_CLIENTS = sorted(
    model._meta.db_table
    for model in BUSINESS_MODELS
    if any(field.attname == "client_id" for field in model._meta.concrete_fields)
)


def row_checksums(business_id: UUID, *, tables: Iterable[str] = BUSINESS_TABLES, only: str = "TRUE") -> dict[str, str]:
    """Return a checksum of a business's rows in each table; `only` narrows the rows, `t` being the table."""
    each = " UNION ALL ".join(
        f"SELECT '{table}', md5(string_agg(t::text, ',' ORDER BY t.id)) FROM {table} t "
        f"WHERE t.business_id = '{business_id}' AND {only}"
        for table in tables
    )
    with business_scope(business_id), connection.cursor() as cursor:
        cursor.execute(each)
        return dict(cursor.fetchall())
