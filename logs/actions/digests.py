"""A coach's digest of missed sessions: one a local morning, true when it is sent."""

from datetime import datetime
from uuid import UUID

from coaching.actions.outbox import queue_message
from coaching.actions.turns import take_turn
from coaching.models import ClientState, MembershipState, OutboxMessage
from coaching.registry import Rendered, Withdrawn
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import SETTLED_REASONS
from logs.documents.missed_digest import missed_digest
from logs.models import AlertDigest, AlertState, MissedAlert
from logs.selectors.digests import AlertGround, DueDigest, digest_facts, list_alert_grounds, list_due_digests
from programs.models import PlannedState

ALERT_DIGEST = "alert_digest"

_NOT_COACHED = {
    ClientState.PAUSED: "The client is paused.",
    ClientState.ENDED: "The client is no longer coached.",
}


def make_digests(business_id: UUID, now: datetime) -> bool:
    """Queue the digest of each coach whose local morning has come with something to say; never more due."""
    with business_scope(business_id):
        if take_turn(job="make_digests"):
            for due in list_due_digests(now=now):
                _make_digest(due, now)
    return False


def prepare_digest(message: OutboxMessage, now: datetime) -> Rendered | Withdrawn:
    """Look at every session of a digest again, and say what is left to say.

    The first time, alerts that came up since it was queued are taken in. Later it says the same words
    again, unless an alert has gone from it.
    """
    digest = AlertDigest.objects.select_related("coach").get(message_id=message.id)
    if digest.coach.state != MembershipState.ACTIVE:
        MissedAlert.objects.filter(digest=digest, state=AlertState.STANDING).update(digest=None)
        return Withdrawn("The coach has left; whoever takes the clients over is told.")
    if message.rendered is None:
        _take_open_alerts(digest)
    _drop_groundless(digest, now)
    facts = digest_facts(digest_id=digest.id)
    if not facts.missed:
        return Withdrawn("Nothing is left to say: each session was logged, excused, moved or handed over.")
    said = sorted(str(fact.alert_id) for fact in facts.missed)
    if message.rendered is not None and message.payload.get("alerts") == said:
        return Rendered(**message.rendered)
    # The clients stand beside the alerts, which may go before the mail does: by them an erasure finds it.
    named = sorted({str(fact.client_id) for fact in facts.missed})
    message.payload = {**message.payload, "alerts": said, "clients": named}
    message.save(update_fields=["payload"])
    return missed_digest(facts)


def _make_digest(due: DueDigest, now: datetime) -> None:
    digest_id = new_id()
    message_id = queue_message(
        kind=ALERT_DIGEST,
        dedupe_key=f"{ALERT_DIGEST}:{due.coach_id}:{due.local_date}",
        payload={"digest": str(digest_id)},
        due_at=now,
    )
    digest = AlertDigest.objects.create(
        id=digest_id, coach_id=due.coach_id, local_date=due.local_date, message_id=message_id
    )
    _take_open_alerts(digest)


def _take_open_alerts(digest: AlertDigest) -> None:
    MissedAlert.objects.filter(client__coach_id=digest.coach_id, state=AlertState.STANDING, digest__isnull=True).update(
        digest=digest
    )


def _drop_groundless(digest: AlertDigest, now: datetime) -> None:
    handed_over: list[UUID] = []
    gone: dict[str, list[UUID]] = {}
    for ground in list_alert_grounds(digest_id=digest.id):
        reason = _gone_reason(ground)
        if reason:
            gone.setdefault(reason, []).append(ground.alert_id)
        elif ground.coach_id != digest.coach_id:
            handed_over.append(ground.alert_id)
    # Free for the next digest of the coach who has the client now.
    MissedAlert.objects.filter(id__in=handed_over).update(digest=None)
    for reason, alert_ids in gone.items():
        MissedAlert.objects.filter(id__in=alert_ids, state=AlertState.STANDING).update(
            state=AlertState.WITHDRAWN, reason=reason, withdrawn_at=now
        )


def _gone_reason(ground: AlertGround) -> str:
    if ground.session_state != PlannedState.MISSED:
        return SETTLED_REASONS[PlannedState(ground.session_state)]
    return _NOT_COACHED.get(ClientState(ground.client_state), "")
