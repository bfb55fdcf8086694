"""What needs a coach's eye, with what became of it."""

from django.db import models

from coaching.models import Client, Membership
from coaching.tenancy.models import BusinessScopedModel


class FlagState(models.TextChoices):
    """Where a flag stands: closed by itself when its ground is gone, resolved by a person."""

    OPEN = "open"
    ACKNOWLEDGED = "acknowledged"
    RESOLVED = "resolved"
    CLOSED = "closed"


class Flag(BusinessScopedModel):
    """One finding about a client; at most one stands per kind and scope.

    `scope` is `all`, `exercise:<key>` or `region:<site>`. `evidence` names what it rests on: after a
    coach's resolve it stays closed until the evidence is another.
    """

    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="flags"
    )
    kind = models.CharField(max_length=24)
    scope = models.CharField(max_length=80, default="all")
    severity = models.CharField(max_length=8)
    action = models.CharField(max_length=14)
    state = models.CharField(max_length=12, choices=FlagState, default=FlagState.OPEN)
    opened_on = models.DateField()
    opened_at = models.DateTimeField()
    updated_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    sentence = models.TextField()
    figures = models.JSONField(default=dict)
    rule = models.TextField()
    source = models.TextField()
    caution = models.TextField(blank=True, default="")
    evidence = models.CharField(max_length=300)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.ForeignKey(
        Membership,
        on_delete=models.SET_NULL,
        null=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    resolved_at = models.DateTimeField(null=True, blank=True)
    resolved_by = models.ForeignKey(
        Membership,
        on_delete=models.SET_NULL,
        null=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    resolution = models.CharField(max_length=500, blank=True, default="")
    row_version = models.PositiveIntegerField(default=1)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="flag_business_id"),
            models.UniqueConstraint(
                fields=["business", "client", "kind", "scope"],
                name="flag_one_standing",
                condition=models.Q(state__in=["open", "acknowledged"]),
            ),
        ]
        indexes = [
            # The flags of a client, and the latest of a kind and scope.
            models.Index(fields=["business", "client", "kind", "scope", "opened_at"], name="flag_client"),
            # What stands, newest first.
            models.Index(fields=["business", "state", "opened_at", "id"], name="flag_state"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.scope} ({self.state})"


class FlagEvaluation(BusinessScopedModel):
    """The client's local day on which the rules were last asked.

    An evaluation takes the row before it reads its facts, so that two of one client never cross.
    """

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    local_date = models.DateField()

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "client"], name="flag_evaluation_client"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} on {self.local_date}"
