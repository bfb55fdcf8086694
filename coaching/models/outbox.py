"""What is to be delivered to the outside, as rows written with the fact that called for it."""

from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class OutboxState(models.TextChoices):
    """How far a delivery has come."""

    QUEUED = "queued"
    SENDING = "sending"
    RETRYING = "retrying"
    SENT = "sent"
    WITHDRAWN = "withdrawn"
    FAILED = "failed"


class OutboxMessage(BusinessScopedModel):
    """One delivery. Claimed by lease, sent, then marked: lost never, doubled only by a crash between.

    `crashes` counts leases that ran out with no result, `attempts` what the receiver refused or let
    time out. `rendered` is kept from the first claim, so that a retry sends the same words under the
    same Message-ID.
    """

    kind = models.CharField(max_length=40)
    dedupe_key = models.CharField(max_length=200)
    payload = models.JSONField(default=dict)
    rendered = models.JSONField(null=True, blank=True)
    due_at = models.DateTimeField()
    state = models.CharField(max_length=9, choices=OutboxState, default=OutboxState.QUEUED)
    attempts = models.PositiveSmallIntegerField(default=0)
    crashes = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    lease_token = models.UUIDField(null=True, blank=True)
    last_problem = models.CharField(max_length=500, blank=True, default="")
    created_at = models.DateTimeField(auto_now_add=True)
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="outbox_message_business_id"),
            models.UniqueConstraint(fields=["business", "dedupe_key"], name="outbox_message_dedupe"),
        ]
        indexes = [
            # The dispatcher's claim: a business's next due message, whatever backlog others have.
            models.Index(
                fields=["business", "due_at", "id"],
                name="outbox_message_due",
                condition=models.Q(state__in=["queued", "sending", "retrying"]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.dedupe_key} ({self.state})"
