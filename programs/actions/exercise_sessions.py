"""Write the sessions to come that prescribe an exercise anew, after it was changed, refreshed or merged."""

from collections.abc import Collection
from datetime import datetime, timedelta
from itertools import product
from typing import Final

from django.db.models import Q

from programs.actions.calendar_rows import LockedSessions
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import PlannedSession, PlannedState
from programs.prescription.session_changes_document import renamed_changes
from programs.selectors.business_calendar import get_business_calendar

_OPEN: Final = (PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED)

# Nobody's local date is further behind UTC than this.
_ONE_DAY: Final = timedelta(days=1)


def rewrite_sessions_of(*keys: str, now: datetime, renamed: str | None = None) -> None:
    """Write the untouched sessions from each client's today on that have exercises, or substitutes for them, anew.

    Args:
        keys: the exercises' keys, as the sessions name them.
        now: decides what is to come.
        renamed: the key by which single sessions' own changes name the exercises from now on.
    """
    if not keys:
        return
    found = LockedSessions(
        PlannedSession.objects.filter(_prescribing(keys), state__in=_OPEN, local_date__gte=now.date() - _ONE_DAY)
    ).rows
    calendar = get_business_calendar()
    rows = [row for row in found if row.local_date >= calendar.today(now, row.client.time_zone)]
    for row in rows:
        if renamed is not None and row.changes:
            for key in keys:
                row.changes = renamed_changes(row.changes, key, renamed)
    rewrite_sessions(rows, now=now)


def _prescribing(keys: Collection[str]) -> Q:
    wanted = Q()
    for name, key in product(("exercise", "substituted_for"), keys):
        wanted |= Q(prescribed__contains={"blocks": [{"slots": [{name: key}]}]})
        wanted |= Q(prescribed__contains={"blocks": [{"entry": {name: key}}]})
    return wanted
