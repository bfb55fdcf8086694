"""Let logs follow exercises that were merged or are told otherwise: whose sets they are, in which weeks they count."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

import orjson
from django.db import connection

from coaching.tenancy.scope import current_business_id
from logs.actions.weekly_progress import mark_weeks_of_logs
from programs.selectors.business_calendar import get_business_calendar

_SESSIONS: Final = (
    "SELECT l.client_id, l.local_date, l.planned_session_id FROM {sets} s "
    "JOIN logs_sessionlog l ON l.business_id = %(business)s AND l.id = s.session_log_id"
)
# A session counts in the week that it was performed in, and in the week that it was planned for.
_DAYS: Final = (
    " SELECT client_id, local_date FROM logged UNION SELECT l.client_id, p.local_date FROM logged l "
    "JOIN programs_plannedsession p ON p.business_id = %(business)s AND p.id = l.planned_session_id"
)
_MOVE: Final = (
    "WITH moved AS (UPDATE logs_setlog SET exercise_id = %(into)s, row_version = row_version + 1 "
    "WHERE business_id = %(business)s AND exercise_id = %(merged)s RETURNING session_log_id), "
    f"logged AS ({_SESSIONS.format(sets='moved')})" + _DAYS
)
_LOGGED: Final = (
    f"WITH logged AS ({_SESSIONS.format(sets='logs_setlog')} "
    "WHERE s.business_id = %(business)s AND s.exercise_id = ANY(%(exercises)s))" + _DAYS
)
_HELD: Final = "SELECT id, item FROM logs_helditem WHERE business_id = %s AND strpos(item::text, %s) > 0 FOR UPDATE"
_KEEP_HELD: Final = (
    "UPDATE logs_helditem h SET item = v.item FROM unnest(%s::uuid[], %s::jsonb[]) AS v (id, item) "
    "WHERE h.business_id = %s AND h.id = v.id"
)


def follow_merge(merged_id: UUID, into_id: UUID, now: datetime) -> None:
    """Count the sets of an exercise that was merged under the one that it was merged into, in few statements.

    Args:
        merged_id: the exercise that went.
        into_id: the one that stays.
        now: the present instant.
    """
    named = {"business": current_business_id(), "merged": merged_id, "into": into_id}
    with connection.cursor() as cursor:
        cursor.execute(_MOVE, named)
        days = cursor.fetchall()
    _mark(days, now)
    _move_held(str(merged_id), str(into_id))


def follow_exercises(exercise_ids: list[UUID], now: datetime) -> None:
    """Let the weeks in which exercises were done be computed anew: their muscles or loading are told otherwise."""
    with connection.cursor() as cursor:
        cursor.execute(_LOGGED, {"business": current_business_id(), "exercises": exercise_ids})
        days = cursor.fetchall()
    _mark(days, now)


def _mark(days: Iterable[tuple[UUID, date]], now: datetime) -> None:
    mark_weeks_of_logs(performed=days, week_start=get_business_calendar().week_start, now=now)


def _move_held(merged_id: str, into_id: str) -> None:
    """Let sets that wait for their session be written for the exercise that stays, and still be known by the other."""
    with connection.cursor() as cursor:
        cursor.execute(_HELD, [current_business_id(), merged_id])
        rows = [(held_id, _moved(orjson.loads(item), merged_id, into_id)) for held_id, item in cursor.fetchall()]
        if rows:
            ids, items = zip(*rows, strict=True)
            cursor.execute(
                _KEEP_HELD, [list(ids), [orjson.dumps(item).decode() for item in items], current_business_id()]
            )


def _moved(item: dict[str, Any], merged_id: str, into_id: str) -> dict[str, Any]:
    for arrival in item["arrivals"]:
        before, after = f"\t{merged_id}\t", f"\t{into_id}\t"
        if before in arrival["content"]:
            arrival["content"] = arrival["content"].replace(before, after, 1)
            arrival["named"] = arrival.get("named") or merged_id
    return item
