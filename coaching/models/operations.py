"""Long work that a caller waits for: the row is the queue, and its result is kept beside it for a day."""

from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class OperationKind(models.TextChoices):
    """What is to be made."""

    CLIENT_EXPORT = "client_export"
    BUSINESS_EXPORT = "business_export"
    AUDIT_EXPORT = "audit_export"


class OperationState(models.TextChoices):
    """How far it is."""

    QUEUED = "queued"
    RUNNING = "running"
    SUCCEEDED = "succeeded"
    FAILED = "failed"
    CANCELLED = "cancelled"


class Operation(BusinessScopedModel):
    """Something asked for that takes longer than a request."""

    kind = models.CharField(max_length=16, choices=OperationKind)
    state = models.CharField(max_length=9, choices=OperationState, default=OperationState.QUEUED)
    # Whose record: it goes with the client, and so does the file.
    client = models.ForeignKey(
        "coaching.Client", on_delete=models.CASCADE, null=True, related_name="+", db_constraint=False, db_index=False
    )
    # What was asked for besides, such as the days of the trail.
    wanted = models.JSONField(default=dict)
    # A membership, and the role that decides what the file holds.
    requested_by = models.UUIDField()
    requested_as = models.CharField(max_length=10)
    progress = models.DecimalField(max_digits=4, decimal_places=3, default=0)
    problem = models.CharField(max_length=200, blank=True, default="")
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_token = models.UUIDField(null=True)
    lease_until = models.DateTimeField(null=True)
    file_name = models.CharField(max_length=120, blank=True, default="")
    # Of the file that is kept now; none once it is deleted.
    size_bytes = models.BigIntegerField(default=0)
    created_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    expires_at = models.DateTimeField(null=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "id"], name="operation_business_id")]
        indexes = [
            # What waits, and whose worker died.
            models.Index(
                fields=["business", "created_at", "id"],
                condition=models.Q(state__in=["queued", "running"]),
                name="operation_due",
            ),
            # How many a business asked for in a day.
            models.Index(fields=["business", "kind", "created_at"], name="operation_asked"),
            # A client's own, which go with them.
            models.Index(fields=["business", "client"], name="operation_client"),
            # Files to delete.
            models.Index(
                fields=["business", "expires_at"], condition=models.Q(size_bytes__gt=0), name="operation_expiry"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.state}"


class OperationPart(BusinessScopedModel):
    """A piece of an operation's file: in the database, so that its border is the file's, and no disk is shared."""

    operation = models.ForeignKey(
        Operation, on_delete=models.CASCADE, related_name="parts", db_constraint=False, db_index=False
    )
    number = models.PositiveIntegerField()
    content = models.BinaryField()

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "operation", "number"], name="operation_part_number")
        ]

    def __str__(self) -> str:
        return f"part {self.number} of {self.operation_id}"
