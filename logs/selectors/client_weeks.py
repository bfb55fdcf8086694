"""Reads of weekly rows, and of which weeks there is anything to compute for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.models import Exists, OuterRef

from coaching.models import Client, StaleWeek
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from coaching.screening.care_groups import Output, care_groups_of, switched_off
from coaching.tenancy.scope import current_business_id
from logs.analysis.constants import DAYS_PER_WEEK
from logs.models import ClientWeek
from programs.selectors.business_calendar import get_business_calendar

_WEEKS_WITH_FACTS: Final = """
WITH dated AS (
  SELECT client_id, local_date FROM logs_setlog WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
  UNION SELECT client_id, local_date FROM logs_sessionlog
    WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
  UNION SELECT client_id, local_date FROM logs_checkin
    WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
  UNION SELECT client_id, local_date FROM programs_plannedsession
    WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
)
SELECT client_id, local_date - (extract(isodow FROM local_date)::int - 1 - %(week_start)s + %(days)s) %% %(days)s
FROM dated
UNION SELECT client_id, week_start FROM logs_clientweek
  WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
ORDER BY 1, 2
"""

_HIDDEN: Final[Mapping[Output, Mapping[str, int | None]]] = {
    "bodyweight": {"mean_bodyweight_kg": None},
    "heart_rate": {
        "mean_resting_hr_bpm": None,
        "resting_hr_readings": 0,
        "mean_ln_rmssd": None,
        "hrv_readings": 0,
    },
}


@dataclass(frozen=True, slots=True)
class Progress:
    """A client's weekly rows, oldest first, and the week in which the client is now."""

    client_id: UUID
    this_week: date
    rows: list[dict[str, Any]]


def get_progress(*, actor: Principal, client_id: UUID, weeks: int, now: datetime) -> Progress:
    """Return a client's last weeks, the present one among them; a week of which nothing is known has no row.

    Raises:
        NotFound: there is no such client that the caller may see.
    """
    visible = Client.objects.filter(client_rows(actor, ""), id=client_id)
    client = visible.values("time_zone", "care_groups", "birth_date").first()
    if client is None:
        raise NotFound("There is no such client that you may see.")
    zone = client["time_zone"]
    calendar = get_business_calendar()
    this_week = calendar.week_of(calendar.today(now, zone))
    first = this_week - timedelta(days=DAYS_PER_WEEK * (weeks - 1))
    stale = StaleWeek.objects.filter(client_id=client_id, week_start=OuterRef("week_start"))
    rows = (
        ClientWeek.objects.filter(client_id=client_id, week_start__gte=first, week_start__lte=this_week)
        .annotate(being_refreshed=Exists(stale))
        .order_by("week_start")
        .values()
    )
    shown = [_without_hidden(row, client["care_groups"], client["birth_date"]) for row in rows]
    return Progress(client_id=client_id, this_week=this_week, rows=shown)


def _without_hidden(row: dict[str, Any], care_groups: Sequence[str], birth_date: date | None) -> dict[str, Any]:
    """Leave out of a week what care switches off."""
    groups = care_groups_of(care_groups, birth_date=birth_date, today=row["week_start"])
    hidden = [_HIDDEN[output] for output in _HIDDEN if switched_off(output, groups)]
    return {**row, **{name: empty for empties in hidden for name, empty in empties.items()}}


def list_client_ids() -> list[UUID]:
    """Return every client of the business, in a fixed order."""
    return list(Client.objects.order_by("id").values_list("id", flat=True))


def list_weeks_with_facts(*, client_ids: Sequence[UUID], week_start: int) -> list[tuple[UUID, date]]:
    """Return the weeks of clients in which anything was planned or logged, deleted logs too, or that have a row."""
    parameters: dict[str, Any] = {
        "business": current_business_id(),
        "clients": list(client_ids),
        "week_start": week_start,
        "days": DAYS_PER_WEEK,
    }
    with connection.cursor() as cursor:
        cursor.execute(_WEEKS_WITH_FACTS, parameters)
        return list(cursor.fetchall())
