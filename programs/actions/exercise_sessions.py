"""Write the sessions to come that prescribe an exercise anew, after it was changed, refreshed or merged."""

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from itertools import product
from typing import Any, Final

from django.db.models import Q

from programs.actions.calendar_rows import LockedSessions
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import PlannedSession, PlannedState
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
                row.changes = _renamed(row.changes, key, renamed)
    rewrite_sessions(rows, now=now)


def _prescribing(keys: Collection[str]) -> Q:
    wanted = Q()
    for name, key in product(("exercise", "substituted_for"), keys):
        wanted |= Q(prescribed__contains={"blocks": [{"slots": [{name: key}]}]})
        wanted |= Q(prescribed__contains={"blocks": [{"entry": {name: key}}]})
    return wanted


def _renamed(changes: Mapping[str, Any], before: str, after: str) -> dict[str, Any]:
    """Name an exercise otherwise in what a single session has otherwise."""

    def key_of(key: str) -> str:
        return after if key == before else key

    renamed = dict(changes)
    if "swaps" in changes:
        swaps = {key_of(key): key_of(other) for key, other in changes["swaps"].items()}
        renamed["swaps"] = {key: other for key, other in swaps.items() if key != other}
    if "slots" in changes:
        renamed["slots"] = {
            slot_key: fields | ({"exercise": key_of(fields["exercise"])} if fields.get("exercise") else {})
            for slot_key, fields in changes["slots"].items()
        }
    if "loads" in changes:
        renamed["loads"] = {
            slot_key: load | {"exercise": key_of(load["exercise"])} for slot_key, load in changes["loads"].items()
        }
    return renamed
