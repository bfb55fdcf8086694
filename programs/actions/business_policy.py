"""Follow what a business changes about its days and weeks."""

from datetime import datetime
from typing import Final

from django.db import connection

from coaching.tenancy.scope import current_business_id
from programs.models import PlannedSession
from programs.prescription.calendar import due_at
from programs.selectors.business_calendar import get_business_calendar

_REWRITE: Final = (
    "UPDATE programs_plannedsession p SET due_at = v.due_at, row_version = p.row_version + 1 "
    "FROM unnest(%s::date[], %s::text[], %s::timestamptz[]) AS v (window_end, zone, due_at) "
    "WHERE p.business_id = %s AND p.window_end = v.window_end AND p.zone = v.zone AND p.due_at > %s "
    "AND p.due_at <> v.due_at"
)


def follow_business_policy(changed: frozenset[str], now: datetime) -> None:
    """Take the due instants of sessions to come anew when the grace changed; what was due stays settled."""
    if "grace_h" not in changed:
        return
    grace_h = get_business_calendar().grace_h
    to_come = PlannedSession.objects.filter(due_at__gt=now)
    days = list(to_come.order_by().values_list("window_end", "zone").distinct())
    with connection.cursor() as cursor:
        cursor.execute(
            _REWRITE,
            [
                [day for day, _zone in days],
                [zone for _day, zone in days],
                [due_at(day, zone, grace_h) for day, zone in days],
                current_business_id(),
                now,
            ],
        )
