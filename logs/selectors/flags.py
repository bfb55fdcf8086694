"""Reads of flags."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, cast
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet

from coaching.models import Client
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from coaching.screening.care_groups import switching_groups
from coaching.tenancy.scope import current_business_id
from logs.analysis.readiness import CLOSED_BY_PERSON, FlagKind, FlagRecord, Standing, evidence_from_text
from logs.models import Flag, FlagState
from logs.selectors.readiness_facts import COACHED_STATES
from logs.selectors.visible_clients import require_visible_client
from programs.selectors.business_calendar import get_business_calendar

STANDING_STATES: Final = (FlagState.OPEN, FlagState.ACKNOWLEDGED)

_DUE: Final = """
SELECT c.id, z.today FROM coaching_client c
JOIN unnest(%(zones)s::text[], %(todays)s::date[]) AS z (zone, today) ON z.zone = c.time_zone
LEFT JOIN logs_flagevaluation e ON e.business_id = c.business_id AND e.client_id = c.id
WHERE c.business_id = %(business)s AND (e.local_date IS NULL OR e.local_date < z.today)
  AND (c.state = ANY (%(coached)s) OR EXISTS (
    SELECT FROM logs_flag f WHERE f.business_id = c.business_id AND f.client_id = c.id
      AND f.state = ANY (%(standing)s) AND f.kind <> ALL (%(by_person)s)))
ORDER BY c.id LIMIT %(limit)s
"""


@dataclass(frozen=True, slots=True)
class LatestFlag:
    """The latest flag of a client, kind and scope."""

    flag_id: UUID
    client_id: UUID
    record: FlagRecord


def list_flags(
    *,
    actor: Principal,
    client_id: UUID | None = None,
    kinds: Iterable[str] = (),
    states: Iterable[str] = (),
    severities: Iterable[str] = (),
) -> QuerySet[Flag]:
    """Return the flags of the clients whom the caller may see.

    Raises:
        UnknownObject: the client filtered by is not one of them.
    """
    rows = shown_flags().filter(client_rows(actor))
    if client_id is not None:
        require_visible_client(actor=actor, client_id=client_id)
        rows = rows.filter(client_id=client_id)
    wanted = {"kind__in": list(kinds), "state__in": list(states), "severity__in": list(severities)}
    return rows.filter(**{column: values for column, values in wanted.items() if values})


def shown_flags() -> QuerySet[Flag]:
    """Return flags without those whose figures care switches off, which the rules close when they are asked next."""
    return Flag.objects.exclude(
        kind="resting_heart_rate_up", client__care_groups__overlap=list(switching_groups("heart_rate"))
    )


def get_flag(*, actor: Principal, flag_id: UUID) -> Flag:
    """Return a flag.

    Raises:
        NotFound: there is none of this id that the caller may see.
    """
    flag = shown_flags().filter(client_rows(actor), id=flag_id).first()
    if flag is None:
        raise NotFound("There is no such flag that you may see.")
    return flag


def list_latest_flags(*, client_ids: Collection[UUID]) -> list[LatestFlag]:
    """Return the latest flag of each kind and scope of clients."""
    rows = (
        Flag.objects.filter(client_id__in=list(client_ids))
        .order_by("client_id", "kind", "scope", "-opened_at", "-id")
        .distinct("client_id", "kind", "scope")
        .values_list("id", "client_id", "kind", "scope", "state", "evidence")
    )
    return [
        LatestFlag(
            flag_id=flag_id,
            client_id=client_id,
            record=FlagRecord(
                kind=cast("FlagKind", kind),
                scope=scope,
                standing=cast("Standing", state),
                evidence=evidence_from_text(evidence),
            ),
        )
        for flag_id, client_id, kind, scope, state, evidence in rows
    ]


def list_clients_to_evaluate(*, now: datetime, limit: int) -> dict[UUID, date]:
    """Return clients whose rules were not asked on their local date of now, with that date.

    Those who are not coached at present are among them while a flag stands that would close by itself.
    """
    calendar = get_business_calendar()
    zones = sorted(Client.objects.order_by().values_list("time_zone", flat=True).distinct())
    parameters: dict[str, Any] = {
        "business": current_business_id(),
        "zones": zones,
        "todays": [calendar.today(now, zone) for zone in zones],
        "coached": list(COACHED_STATES),
        "standing": list(STANDING_STATES),
        "by_person": sorted(CLOSED_BY_PERSON),
        "limit": limit,
    }
    with connection.cursor() as cursor:
        cursor.execute(_DUE, parameters)
        return dict(cursor.fetchall())
