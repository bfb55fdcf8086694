"""What a client can lift: the loads that percentages resolve against."""

from django.db import models

from coaching.models import Client, Unit
from coaching.tenancy.models import BusinessScopedModel
from programs.models.exercises import Exercise


class ReferenceKind(models.TextChoices):
    """How a reference load is known."""

    TESTED = "tested"
    ESTIMATED = "estimated"
    TRAINING_MAX = "training_max"
    WORKING = "working"


class ReferenceLoad(BusinessScopedModel):
    """A load, as entered and in kg, in the exercise's own load basis, from a date on."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="+")
    exercise = models.ForeignKey(
        Exercise, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    kind = models.CharField(max_length=12, choices=ReferenceKind)
    load = models.DecimalField(max_digits=9, decimal_places=4)
    unit = models.CharField(max_length=2, choices=Unit)
    load_kg = models.DecimalField(max_digits=14, decimal_places=8)
    on_date = models.DateField()
    source = models.CharField(max_length=120, blank=True, default="")
    # What the coach takes it times at slow and paused tempos, by tempo class, as text; a class without goes by effort.
    tempo_factors = models.JSONField(default=dict)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="reference_load_business_id"),
            models.UniqueConstraint(
                fields=["business", "client", "exercise", "kind", "on_date"], name="reference_load_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.load} {self.unit}"
