"""Files of past logs on their way in, kept only as long as it takes to import them."""

from typing import Final

from django.db import models

from coaching.models import Client
from coaching.tenancy.models import BusinessScopedModel

KEPT_DAYS: Final = 7
"""How long an uploaded file is kept. Practice."""


class ImportState(models.TextChoices):
    """How far an import has come: its mapping stands, a dry run has shown what it does, it is written, it is gone."""

    MAPPED = "mapped"
    CHECKED = "checked"
    COMMITTED = "committed"
    FORGOTTEN = "forgotten"


class LogImport(BusinessScopedModel):
    """A file of past logs: its table, how that is read, and what the last run came to.

    `content` is the table, compressed; `columns`, `mapping`, `findings` and `result` quote from it. All five are
    emptied when the file is forgotten; the counts in `result` stay.
    """

    client = models.ForeignKey(
        Client,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    source = models.CharField(max_length=60)
    state = models.CharField(max_length=9, choices=ImportState, default=ImportState.MAPPED)
    format = models.CharField(max_length=4)
    told = models.JSONField(default=dict)
    content = models.BinaryField()
    row_count = models.PositiveIntegerField()
    columns = models.JSONField(default=list)
    mapping = models.JSONField(default=dict)
    findings = models.JSONField(default=dict)
    result = models.JSONField(null=True, blank=True)
    created_by = models.UUIDField()
    created_at = models.DateTimeField()
    committed_at = models.DateTimeField(null=True, blank=True)
    expires_at = models.DateTimeField()
    forgotten_at = models.DateTimeField(null=True, blank=True)
    row_version = models.PositiveIntegerField(default=1)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "id"], name="log_import_business_id")]
        indexes = [
            # Newest first.
            models.Index(fields=["business", "created_at", "id"], name="log_import_created"),
        ]

    def __str__(self) -> str:
        return f"{self.source}, {self.state}"
