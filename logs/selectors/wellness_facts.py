"""Rows to what the rules read of how people say they are; one statement whatever the number of clients."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID

from django.db.models import Q

from coaching.screening.care_groups import care_groups_of
from logs.analysis.check_in_scales import CheckInEntry
from logs.models import CheckIn

_LOOK_BACK: Final = timedelta(days=77)
"""Nine weekly forms with two weeks missed; more than a daily baseline takes. Practice."""

_COLUMNS: Final = ("local_date", "sleep", "fatigue", "stress", "soreness", "resting_hr_bpm")


@dataclass(slots=True)
class Wellness:
    """What one client said, oldest first, and the groups that switch rules off."""

    entries: list[CheckInEntry] = field(default_factory=list)
    care_groups: frozenset[str] = frozenset()


def wellness_facts(*, days: Mapping[UUID, date]) -> dict[UUID, Wellness]:
    """Read the check-ins that the rules rest on.

    Args:
        days: each client's local date of today.
    """
    found = {client_id: Wellness() for client_id in days}
    if not found:
        return found
    answered = Q()
    for name in _COLUMNS[1:]:
        answered |= Q(**{f"{name}__isnull": False})
    rows: Any = (
        CheckIn.objects.filter(
            answered,
            client_id__in=list(days),
            deleted_at__isnull=True,
            local_date__gte=min(days.values()) - _LOOK_BACK,
            local_date__lte=max(days.values()),
        )
        .order_by("local_date", "id")
        .values("client_id", "client__care_groups", "client__birth_date", "form__cadence", *_COLUMNS)
    )
    for row in rows:
        own, today = found[row["client_id"]], days[row["client_id"]]
        if row["local_date"] <= today:
            own.care_groups = care_groups_of(
                row["client__care_groups"], birth_date=row["client__birth_date"], today=today
            )
            said = {name: row[name] for name in _COLUMNS}
            own.entries.append(CheckInEntry(form_cadence=row["form__cadence"], **said))
    return found
