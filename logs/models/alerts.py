"""Missed-session alerts, and the digests that carry them to a coach."""

from django.db import models

from coaching.models import Client, Membership, OutboxMessage
from coaching.tenancy.models import BusinessScopedModel
from programs.models import PlannedSession


class AlertState(models.TextChoices):
    """Whether an alert still stands; the digest's outbox row tells how far its delivery has come."""

    STANDING = "standing"
    WITHDRAWN = "withdrawn"


class AlertDigest(BusinessScopedModel):
    """A coach's alerts of one local morning, as one message."""

    coach = models.ForeignKey(
        Membership, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+"
    )
    local_date = models.DateField()
    message = models.OneToOneField(OutboxMessage, on_delete=models.CASCADE, db_constraint=False, related_name="+")

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="alert_digest_business_id"),
            models.UniqueConstraint(fields=["business", "coach", "local_date"], name="alert_digest_day"),
        ]

    def __str__(self) -> str:
        return f"digest of {self.local_date}"


class MissedAlert(BusinessScopedModel):
    """A session was missed: said once, whatever runs how often; a digest takes it when claimed."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    planned_session = models.ForeignKey(
        PlannedSession, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+"
    )
    local_date = models.DateField()
    state = models.CharField(max_length=9, choices=AlertState, default=AlertState.STANDING)
    reason = models.CharField(max_length=200, blank=True, default="")
    digest = models.ForeignKey(
        AlertDigest,
        on_delete=models.SET_NULL,
        null=True,
        db_constraint=False,
        db_index=False,
        related_name="alerts",
    )
    created_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "planned_session", "local_date"], name="missed_alert_day"),
        ]
        indexes = [
            # What the next digest takes.
            models.Index(
                fields=["business", "client"],
                name="missed_alert_open",
                condition=models.Q(state="standing", digest__isnull=True),
            ),
            # The alerts of a digest.
            models.Index(fields=["business", "digest"], name="missed_alert_digest"),
            # Newest first.
            models.Index(fields=["business", "created_at", "id"], name="missed_alert_created"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} missed {self.local_date} ({self.state})"
