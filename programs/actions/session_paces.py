"""Keep how long clients take beside what is planned. `logs` calls this; `programs` never asks `logs`."""

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from programs.prescription.session_pace import ClientPace

# Rows that come out as they were are left alone: an update writes and locks for nothing.
_SET: Final = """
INSERT INTO programs_sessionpace AS p (id, business_id, client_id, ratio, sessions, last_on)
SELECT id, %s, client_id, ratio, sessions, last_on
FROM unnest(%s::uuid[], %s::uuid[], %s::numeric[], %s::smallint[], %s::date[])
  AS v (id, client_id, ratio, sessions, last_on)
ORDER BY client_id
ON CONFLICT (business_id, client_id) DO UPDATE
  SET ratio = excluded.ratio, sessions = excluded.sessions, last_on = excluded.last_on
  WHERE (p.ratio, p.sessions, p.last_on) IS DISTINCT FROM (excluded.ratio, excluded.sessions, excluded.last_on)
"""
_FORGET: Final = "DELETE FROM programs_sessionpace WHERE business_id = %s AND client_id = ANY (%s::uuid[])"


def store_session_paces(paces: Mapping[UUID, ClientPace]) -> None:
    """Make these the clients' paces, in two statements at most for any number; doing it again changes nothing.

    Args:
        paces: by client; one of no sessions is forgotten.
    """
    known = {client_id: pace for client_id, pace in paces.items() if pace.sessions}
    gone = [client_id for client_id in paces if client_id not in known]
    business_id = current_business_id()
    rows: list[Any] = [
        [new_id() for _ in known],
        list(known),
        [pace.ratio for pace in known.values()],
        [pace.sessions for pace in known.values()],
        [pace.last_on for pace in known.values()],
    ]
    with connection.cursor() as cursor:
        if gone:
            cursor.execute(_FORGET, [business_id, gone])
        if known:
            cursor.execute(_SET, [business_id, *rows])
