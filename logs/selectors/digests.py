"""What a coach's digest of missed sessions is made from."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final
from uuid import UUID

from django.db import connection
from django.db.models import Min
from django.db.models.functions import Coalesce

from coaching.measures.local_calendar import local_date_of, local_instant
from coaching.models import Business, MembershipState
from coaching.tenancy.scope import current_business_id
from logs.models import AlertDigest, AlertState, MissedAlert

OLD_AFTER: Final = timedelta(hours=24)
"""An alert seen so long after its session was due follows an outage: a line for each client, no storm."""


@dataclass(frozen=True, slots=True)
class DueDigest:
    """A coach whose digest of a local date is due."""

    coach_id: UUID
    local_date: date


@dataclass(frozen=True, slots=True)
class AlertGround:
    """What an alert in a digest stands on, as it is now."""

    alert_id: UUID
    session_state: str
    client_state: str
    coach_id: UUID


@dataclass(frozen=True, slots=True)
class MissedFact:
    """One missed session: its day in the client's zone, and when it began to count as missed."""

    alert_id: UUID
    planned_session_id: UUID
    client_id: UUID
    client_name: str
    client_zone: str
    title: str
    local_date: date
    counted_at: datetime
    old: bool


@dataclass(frozen=True, slots=True)
class DigestFacts:
    """All that a digest says; `missed_in_a_row` by client."""

    digest_id: UUID
    coach_name: str
    coach_email: str
    coach_zone: str
    business_name: str
    local_date: date
    escalation_sessions: int
    missed: tuple[MissedFact, ...]
    missed_in_a_row: dict[UUID, int]


def list_due_digests(*, now: datetime) -> list[DueDigest]:
    """Return the coaches whose local morning has come with an alert that was due by then, and no digest yet.

    What becomes due later in the day waits for the next morning.
    """
    digest_at = Business.objects.values_list("digest_at", flat=True).get(id=current_business_id())
    coaches = (
        MissedAlert.objects.filter(
            state=AlertState.STANDING, digest__isnull=True, client__coach__state=MembershipState.ACTIVE
        )
        .values_list("client__coach_id", "client__coach__time_zone")
        .annotate(since=Min(Coalesce("planned_session__due_at", "created_at")))
        .order_by("client__coach_id")
    )
    due = [
        DueDigest(coach_id, local_date_of(now, zone_name))
        for coach_id, zone_name, since in coaches
        if since <= _morning(now, zone_name, digest_at) <= now
    ]
    made = set(
        AlertDigest.objects.filter(
            coach_id__in=[digest.coach_id for digest in due], local_date__in={d.local_date for d in due}
        ).values_list("coach_id", "local_date")
    )
    return [digest for digest in due if (digest.coach_id, digest.local_date) not in made]


def list_alert_grounds(*, digest_id: UUID) -> list[AlertGround]:
    """Return what each standing alert of a digest stands on."""
    return [
        AlertGround(*row)
        for row in MissedAlert.objects.filter(digest_id=digest_id, state=AlertState.STANDING).values_list(
            "id", "planned_session__state", "client__state", "client__coach_id"
        )
    ]


def digest_facts(*, digest_id: UUID) -> DigestFacts:
    """Return what a digest says: its standing alerts, by client's name and then by date."""
    digest = AlertDigest.objects.select_related("coach__person").get(id=digest_id)
    business = Business.objects.get(id=current_business_id())
    missed = tuple(
        _missed_fact(alert)
        for alert in MissedAlert.objects.filter(digest=digest, state=AlertState.STANDING)
        .select_related("client", "planned_session")
        .order_by("client__name", "client_id", "local_date", "id")
    )
    return DigestFacts(
        digest_id=digest.id,
        coach_name=digest.coach.person.name,
        coach_email=digest.coach.person.email,
        coach_zone=digest.coach.time_zone,
        business_name=business.name,
        local_date=digest.local_date,
        escalation_sessions=business.missed_escalation_sessions,
        missed=missed,
        missed_in_a_row=missed_in_a_row(client_ids={fact.client_id for fact in missed}),
    )


def missed_in_a_row(*, client_ids: Iterable[UUID]) -> dict[UUID, int]:
    """Return how many sessions each client has missed since they last trained to plan.

    Excused and paused sessions neither break a row nor count in it.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT p.client_id, count(*) FROM programs_plannedsession p "
            "LEFT JOIN (SELECT client_id, max(coalesce(performed_on, local_date)) AS last_on "
            "  FROM programs_plannedsession WHERE business_id = %(business)s AND client_id = ANY(%(clients)s) "
            "  AND state IN ('started', 'done', 'part_done', 'done_late') GROUP BY client_id) trained "
            "ON trained.client_id = p.client_id "
            "WHERE p.business_id = %(business)s AND p.client_id = ANY(%(clients)s) AND p.state = 'missed' "
            "AND (trained.last_on IS NULL OR p.local_date > trained.last_on) GROUP BY p.client_id",
            {"business": current_business_id(), "clients": list(client_ids)},
        )
        return dict(cursor.fetchall())


def _morning(now: datetime, zone_name: str, digest_at: time) -> datetime:
    return local_instant(local_date_of(now, zone_name), digest_at, zone_name)


def _missed_fact(alert: MissedAlert) -> MissedFact:
    session = alert.planned_session
    counted_at = session.due_at or alert.created_at
    return MissedFact(
        alert_id=alert.id,
        planned_session_id=session.id,
        client_id=alert.client_id,
        client_name=alert.client.name,
        client_zone=alert.client.time_zone,
        title=session.title,
        local_date=alert.local_date,
        counted_at=counted_at,
        old=alert.created_at - counted_at > OLD_AFTER,
    )
