"""How long a business keeps what it holds."""

from django.db import models

from coaching.tenancy.models import BusinessScopedModel

HELD_ITEM_DAYS = 30
LOG_IMPORT_DAYS = 7


class RetentionPolicy(BusinessScopedModel):
    """A business's own times; a business that has changed nothing has no row, which reads as one at version 1."""

    # None keeps them until somebody is erased.
    ended_client_months = models.PositiveSmallIntegerField(null=True, blank=True)
    held_item_days = models.PositiveSmallIntegerField(default=HELD_ITEM_DAYS)
    log_import_days = models.PositiveSmallIntegerField(default=LOG_IMPORT_DAYS)
    log_batch_days = models.PositiveSmallIntegerField(default=365)
    mail_body_days = models.PositiveSmallIntegerField(default=90)
    row_version = models.PositiveIntegerField(default=1)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business"], name="retention_policy_one")]

    def __str__(self) -> str:
        return f"version {self.row_version}"
