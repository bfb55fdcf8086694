"""Weeks whose derived figures no longer follow from their facts."""

from django.db import models

from coaching.models.clients import Client
from coaching.tenancy.models import BusinessScopedModel


class StaleWeek(BusinessScopedModel):
    """A client's week to refresh.

    Each mark raises `generation`; the refresher deletes the row only at the generation that it read,
    so that a mark made during a refresh survives it. `claimed_until` keeps others from it meanwhile
    without holding a lock, on which the next log of the week would wait. `failures` counts the refreshes in
    a row that failed by this week alone.
    """

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    week_start = models.DateField()
    generation = models.BigIntegerField(default=1)
    marked_at = models.DateTimeField()
    claimed_until = models.DateTimeField(null=True, blank=True)
    failures = models.PositiveSmallIntegerField(default=0, db_default=0)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "client", "week_start"], name="stale_week_client_week"),
        ]
        indexes = [
            # Oldest first, whoever they belong to.
            models.Index(fields=["marked_at"], name="stale_week_age"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} week of {self.week_start}"
