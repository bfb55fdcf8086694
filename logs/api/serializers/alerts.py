"""Missed-session alerts, as they are read."""

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from coaching.models.outbox import OutboxState
from logs.models.alerts import AlertDigest, AlertState, MissedAlert
from programs.models.assignments import PlannedState


class DeliverySerializer(serializers.Serializer[Any]):
    """How far the digest's email has come."""

    state = serializers.ChoiceField(choices=OutboxState.choices)
    attempts = serializers.IntegerField(help_text="How often the mail server refused or did not answer.")
    due_at = serializers.DateTimeField(help_text="When it is tried, or was last to be tried.")
    settled_at = serializers.DateTimeField(allow_null=True, help_text="When it was sent, withdrawn or given up.")
    problem = serializers.CharField(help_text="Why it was withdrawn, refused or given up; empty when all is well.")


class DigestSerializer(serializers.Serializer[Any]):
    """The digest that carries an alert to the coach."""

    id = serializers.UUIDField()
    coach = serializers.UUIDField()
    local_date = serializers.DateField(help_text="The coach's local morning.")
    delivery = DeliverySerializer()


class AlertSerializer(serializers.Serializer[Any]):
    """A session that was missed.

    A standing alert whose session is done since was already sent: what was said stays said.
    """

    id = serializers.UUIDField()
    client = serializers.UUIDField()
    planned_session = serializers.UUIDField()
    title = serializers.CharField()
    local_date = serializers.DateField(help_text="The date that was missed, in the client's time zone.")
    session_state = serializers.ChoiceField(choices=PlannedState.choices, help_text="Of the session now.")
    state = serializers.ChoiceField(choices=AlertState.choices)
    reason = serializers.CharField(help_text="Why it was withdrawn; empty while it stands.")
    created_at = serializers.DateTimeField()
    withdrawn_at = serializers.DateTimeField(allow_null=True)
    digest = DigestSerializer(allow_null=True, help_text="None until the coach's next morning.")


def show_alerts(rows: Sequence[MissedAlert]) -> list[dict[str, Any]]:
    """Return alerts as they are read."""
    return [_show_alert(row) for row in rows]


def _show_alert(row: MissedAlert) -> dict[str, Any]:
    return {
        "id": row.id,
        "client": row.client_id,
        "planned_session": row.planned_session_id,
        "title": row.planned_session.title,
        "local_date": row.local_date,
        "session_state": row.planned_session.state,
        "state": row.state,
        "reason": row.reason,
        "created_at": row.created_at,
        "withdrawn_at": row.withdrawn_at,
        "digest": None if row.digest is None else _show_digest(row.digest),
    }


def _show_digest(digest: AlertDigest) -> dict[str, Any]:
    message = digest.message
    return {
        "id": digest.id,
        "coach": digest.coach_id,
        "local_date": digest.local_date,
        "delivery": {
            "state": message.state,
            "attempts": message.attempts,
            "due_at": message.due_at,
            "settled_at": message.settled_at,
            "problem": message.last_problem,
        },
    }
