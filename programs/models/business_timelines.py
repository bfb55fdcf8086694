"""What a business reckons otherwise than by practice when sessions are timed."""

from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class BusinessTimeline(BusinessScopedModel):
    """The business's own figures of time, by name (`programs/prescription/timeline_fields.py`); the rest is practice.

    A business that has changed nothing has no row, which reads as one at version 1. Figures are text, exact.
    """

    own = models.JSONField(default=dict)
    row_version = models.PositiveIntegerField(default=1)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business"], name="business_timeline_one")]

    def __str__(self) -> str:
        return f"{len(self.own)} figures of its own"
