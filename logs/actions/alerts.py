"""Missed-session alerts: raised once for a session and its date, withdrawn while nobody was told."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID

from django.db import connection
from django.db.models import Q

from coaching.actions.turns import take_turn
from coaching.models import OutboxMessage, OutboxState
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope, current_business_id
from logs.actions.client_notes import queue_client_notes
from logs.models import AlertDigest, AlertState, MissedAlert
from logs.selectors.alerts import list_reopened_sessions, list_settled_alerts
from programs.actions.missed_sessions import mark_missed
from programs.models import PlannedState

SESSIONS_A_PIECE: Final = 500
LOOKS_BACK: Final = timedelta(days=7)
"""How old a missed session may be that is still alerted for the first time, other than by the detector."""

SETTLED_REASONS: Final = {
    PlannedState.PLANNED: "The session was moved or opened again.",
    PlannedState.STARTED: "The session was started.",
    PlannedState.DONE: "The session was logged.",
    PlannedState.PART_DONE: "The session was logged.",
    PlannedState.DONE_LATE: "The session was logged.",
    PlannedState.EXCUSED: "The session was excused.",
    PlannedState.PAUSED: "The session was paused.",
}
"""Why an alert falls away, by the state that its session is in now."""


@dataclass(frozen=True, slots=True)
class SessionToAlert:
    """A session that is missed, and the date that it was planned on."""

    planned_session_id: UUID
    client_id: UUID
    local_date: date


def detect_missed(business_id: UUID, now: datetime) -> bool:
    """Mark sessions past their due instant as missed, alert their coaches and note it to their clients.

    Returns:
        Whether more may be due.
    """
    with business_scope(business_id):
        if not take_turn(job="detect_missed"):
            return False
        settled = mark_missed(now=now, limit=SESSIONS_A_PIECE)
        told = [session for session in settled.missed if not session.away and not session.before_assigned]
        raise_alerts(
            sessions=[SessionToAlert(row.planned_session_id, row.client_id, row.local_date) for row in told],
            now=now,
        )
        queue_client_notes(planned_session_ids=[row.planned_session_id for row in told], now=now)
    return settled.count == SESSIONS_A_PIECE


def raise_alerts(*, sessions: Iterable[SessionToAlert], now: datetime) -> None:
    """Raise an alert for each session, unless its date has one.

    An alert that was withdrawn, so that nobody was told, stands again: the log that withdrew it was deleted.
    """
    rows = list(sessions)
    if not rows:
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO logs_missedalert AS alert "
            "(id, business_id, client_id, planned_session_id, local_date, state, reason, created_at) "
            "SELECT id, %s, client_id, session_id, local_date, 'standing', '', %s "
            "FROM unnest(%s::uuid[], %s::uuid[], %s::uuid[], %s::date[]) "
            "AS missed (id, client_id, session_id, local_date) "
            "ON CONFLICT (business_id, planned_session_id, local_date) DO UPDATE SET state = 'standing', "
            "reason = '', digest_id = NULL, withdrawn_at = NULL, created_at = excluded.created_at "
            "WHERE alert.state = 'withdrawn'",
            [
                current_business_id(),
                now,
                [new_id() for _ in rows],
                [row.client_id for row in rows],
                [row.planned_session_id for row in rows],
                [row.local_date for row in rows],
            ],
        )


def follow_planned_sessions(planned_session_ids: list[UUID], now: datetime) -> None:
    """Keep alerts true when sessions change, in the transaction that changes them.

    Sessions no longer missed lose the alert that nobody was sent; sessions that became missed, since the
    log that settled them was deleted, get theirs.
    """
    settled: dict[str, list[UUID]] = {}
    for session_id, state in list_settled_alerts(planned_session_ids=planned_session_ids):
        settled.setdefault(SETTLED_REASONS[PlannedState(state)], []).append(session_id)
    for reason, session_ids in settled.items():
        withdraw_alerts(planned_session_ids=session_ids, reason=reason, now=now)
    reopened = list_reopened_sessions(planned_session_ids=planned_session_ids, due_from=now - LOOKS_BACK)
    raise_alerts(sessions=[SessionToAlert(*row) for row in reopened], now=now)


def withdraw_alerts(*, planned_session_ids: Iterable[UUID], reason: str, now: datetime) -> int:
    """Withdraw the standing alerts of sessions, but for those whose digest is being sent or was sent.

    One that is just being sent is looked at again when its message is written out, and before each retry.

    Returns:
        How many were withdrawn.
    """
    alerts = dict(
        MissedAlert.objects.select_for_update()
        .filter(planned_session_id__in=list(planned_session_ids), state=AlertState.STANDING)
        .order_by("id")
        .values_list("id", "digest_id")
    )
    # Never waits: whoever holds a message is writing it out and looks at its sessions itself.
    unsent = set(
        OutboxMessage.objects.select_for_update(skip_locked=True)
        .filter(
            id__in=AlertDigest.objects.filter(id__in=set(alerts.values())).values("message_id"),
            state__in=[OutboxState.QUEUED, OutboxState.RETRYING],
        )
        .values_list("id", flat=True)
    )
    return (
        MissedAlert.objects.filter(id__in=list(alerts))
        .filter(Q(digest__isnull=True) | Q(digest__message_id__in=unsent))
        .update(state=AlertState.WITHDRAWN, reason=reason, withdrawn_at=now)
    )
