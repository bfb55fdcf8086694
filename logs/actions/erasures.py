"""What of an erased client stands outside their own rows: files of several clients, and problems of batches."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import Q

from coaching.tenancy.scope import current_business_id
from logs.actions.log_imports import forgotten
from logs.models import LogImport
from logs.models.log_imports import ImportState


def forget_files(client_id: UUID, now: datetime) -> tuple[str, list[UUID]]:
    """Forget every open file with logs of several clients, and lock those of this one.

    A file may name them in words that nothing here can tell, so all go; what they brought of others stays. The table
    and the imports are returned.
    """
    rows = LogImport.objects.select_for_update().filter(Q(client__isnull=True) | Q(client_id=client_id))
    found: Any = rows.exclude(state=ImportState.FORGOTTEN).order_by("id").values_list("id", "client_id")
    # Those of the client alone go with their rows.
    ids = [one for one, of_client in found if of_client is None]
    LogImport.objects.filter(id__in=ids).update(**forgotten(now))
    return LogImport._meta.db_table, ids


def forget_problems(client_id: UUID, _now: datetime) -> tuple[str, int]:
    """Take a client's items out of the problems of batches; their counts stay. Returns the table and how many."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE logs_logbatch SET problems = coalesce((SELECT jsonb_agg(p ORDER BY n)"
            "  FROM jsonb_array_elements(problems) WITH ORDINALITY AS t (p, n)"
            "  WHERE p->>'client' IS DISTINCT FROM %(client)s), '[]')"
            " WHERE business_id = %(business)s AND problems @> jsonb_build_array(jsonb_build_object('client',"
            "  %(client)s::text))",
            {"client": str(client_id), "business": current_business_id()},
        )
        return "logs_logbatch", cursor.rowcount
