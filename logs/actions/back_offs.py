"""Tell `programs` what was lifted where later loads hang on it: all sets anew, in whatever order they came."""

from collections.abc import Collection
from typing import Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.scope import current_business_id
from programs.actions.back_offs import LoggedLoad, resolve_back_offs
from programs.selectors.back_offs import sessions_with_back_offs

_LOADS_OF_PLANNED: Final = """
SELECT s.planned_session_id, l.slot_key, e.key, l.set_number, l.kind, l.load, l.unit
FROM logs_sessionlog s
JOIN logs_setlog l ON l.business_id = s.business_id AND l.session_log_id = s.id AND l.deleted_at IS NULL
JOIN programs_exercise e ON e.business_id = l.business_id AND e.id = l.exercise_id
WHERE s.business_id = %s AND s.planned_session_id = ANY (%s::uuid[]) AND s.deleted_at IS NULL
  AND l.outcome = 'done' AND l.load IS NOT NULL AND l.slot_key <> ''
ORDER BY s.planned_session_id, l.slot_key, l.set_number, l.id
"""
_COLUMNS: Final = ("planned_session_id", "slot_key", "exercise", "set_number", "kind", "load", "unit")


def push_top_sets(*, planned_session_ids: Collection[str]) -> None:
    """Have the back-offs of planned sessions resolved by all the sets that they have now."""
    if not planned_session_ids:
        return
    waiting = sessions_with_back_offs(planned_session_ids=[UUID(one) for one in sorted(planned_session_ids)])
    if not waiting:
        return
    with connection.cursor() as cursor:
        cursor.execute(_LOADS_OF_PLANNED, [current_business_id(), waiting])
        logged = [LoggedLoad(**dict(zip(_COLUMNS, row, strict=True))) for row in cursor.fetchall()]
    resolve_back_offs(planned_session_ids=waiting, logged=logged)
