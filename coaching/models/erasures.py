"""Who was erased: enough to refuse what comes later, and to erase them again after a backup was restored."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class Erasure(BusinessScopedModel):
    """A person removed from a business. Ids, an instant and counts: nothing that says anything of the person.

    `client_id` was the id of their record, made here and told nobody else anything. `coach_id` and `key_ids` are who
    could write their logs, and so are told later that they were erased. Rows are added, and never changed.
    """

    client_id = models.UUIDField()
    erased_at = models.DateTimeField()
    # A membership; none where an operator erased them again.
    erased_by = models.UUIDField(null=True)
    coach_id = models.UUIDField(null=True)
    key_ids = ArrayField(models.UUIDField(), default=list)
    # How many rows went, by table.
    counts = models.JSONField(default=dict)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "client_id"], name="erasure_client")]
        indexes = [
            # Newest first.
            models.Index(fields=["business", "erased_at", "id"], name="erasure_at"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} at {self.erased_at:%Y-%m-%d %H:%M}"
