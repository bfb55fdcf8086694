"""Reads of missed-session alerts."""

from collections.abc import Iterable
from datetime import date, datetime
from uuid import UUID

from django.db import connection
from django.db.models import Exists, F, OuterRef, Q, QuerySet

from coaching.models import Absence, Client, ClientState
from coaching.policy import Principal, client_rows
from coaching.refusals import UnknownObject
from logs.models import AlertState, MissedAlert
from programs.models import PlannedSession, PlannedState


def list_businesses_with_open_alerts(_now: datetime) -> list[UUID]:
    """Return the businesses with alerts that no digest has taken, longest waiting first."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT businesses_with_open_alerts()")
        return [row[0] for row in cursor.fetchall()]


def list_alerts(
    *, actor: Principal, client_id: UUID | None = None, states: Iterable[str] = ()
) -> QuerySet[MissedAlert]:
    """Return the alerts that the caller may see, each with its session, digest and the digest's delivery.

    Raises:
        UnknownObject: no such client that the caller may see.
    """
    rows = (
        MissedAlert.objects.filter(client_rows(actor))
        .select_related("planned_session", "digest__message")
        .defer("planned_session__prescribed", "planned_session__slot_classes", "digest__message__rendered")
    )
    if client_id is not None:
        if not Client.objects.filter(client_rows(actor, ""), id=client_id).exists():
            raise UnknownObject.at("?client", "There is no client with this id that you may see.")
        rows = rows.filter(client_id=client_id)
    wanted = list(states)
    return rows.filter(state__in=wanted) if wanted else rows


def list_settled_alerts(*, planned_session_ids: Iterable[UUID]) -> list[tuple[UUID, str]]:
    """Return, of these sessions, those whose standing alert's ground is gone, each with the state it is in now."""
    return list(
        MissedAlert.objects.filter(planned_session_id__in=list(planned_session_ids), state=AlertState.STANDING)
        .exclude(planned_session__state=PlannedState.MISSED)
        .values_list("planned_session_id", "planned_session__state")
    )


def list_unalerted_sessions(*, due_from: datetime, limit: int) -> list[tuple[UUID, UUID, date]]:
    """Return sessions missed since an instant that were never alerted: id, client and date of each."""
    return list(_missed_without(MissedAlert.objects.all(), due_from).order_by("due_at", "id")[:limit])


def list_reopened_sessions(*, planned_session_ids: Iterable[UUID], due_from: datetime) -> list[tuple[UUID, UUID, date]]:
    """Return, of these sessions, those missed since an instant that no alert stands for."""
    standing = MissedAlert.objects.filter(state=AlertState.STANDING)
    return list(_missed_without(standing, due_from).filter(id__in=list(planned_session_ids)).order_by("id"))


def _missed_without(
    alerts: QuerySet[MissedAlert], due_from: datetime
) -> QuerySet[PlannedSession, tuple[UUID, UUID, date]]:
    """Return sessions without one of these alerts, of people coached, not away, and assigned to by then."""
    of_the_session = alerts.filter(planned_session_id=OuterRef("id"), local_date=OuterRef("local_date"))
    away = Absence.objects.filter(
        client_id=OuterRef("client_id"),
        starts_on__lte=OuterRef("local_date"),
        ends_on__gte=OuterRef("local_date"),
    )
    return (
        PlannedSession.objects.filter(~Exists(of_the_session), ~Exists(away))
        .filter(state=PlannedState.MISSED, due_at__gte=due_from)
        .exclude(client__state__in=[ClientState.PAUSED, ClientState.ENDED])
        .filter(Q(assignment__alerts_from=None) | Q(due_at__gte=F("assignment__alerts_from")))
        .values_list("id", "client_id", "local_date")
    )
