"""Where clients train, and what stands there."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.models.clients import Client
from coaching.tenancy.models import BusinessScopedModel


class PlaceKind(models.TextChoices):
    """What kind of place it is: at home and in a hotel the next station is a step away."""

    HOME = "home"
    GYM = "gym"
    HOTEL = "hotel"
    OTHER = "other"


class Place(BusinessScopedModel):
    """A place where a client trains, with the equipment there.

    `load_steps` holds, by the way an exercise is loaded, `[step, unit]` where the place has other steps than the
    usual ones; the step is text, exact.
    """

    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="places"
    )
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=5, choices=PlaceKind)
    equipment = ArrayField(models.CharField(max_length=40), default=list)
    load_steps = models.JSONField(default=dict)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="place_business_id"),
            models.UniqueConstraint(fields=["business", "client", "name"], name="place_name"),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.kind})"
