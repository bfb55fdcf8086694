"""A business's own copy of the exercise catalogue."""

from decimal import Decimal

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class ExerciseOrigin(models.TextChoices):
    """Whether a row was copied from the shared catalogue or written by the business."""

    SHARED = "shared"
    OWN = "own"


class Exercise(BusinessScopedModel):
    """An exercise. `key` is stable and accepted wherever an id is, since apps can't know ids.

    `aliases` hold every other name. `restful_end` and `rests_muscles` say where a repetition rests
    whom; `phase_words` are the display words of the four phases. Vocabulary: `programs/catalogue`.
    """

    key = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    aliases = ArrayField(models.CharField(max_length=120), default=list)
    origin = models.CharField(max_length=6, choices=ExerciseOrigin)
    customised = models.BooleanField(default=False)
    merged_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, db_constraint=False, related_name="+"
    )
    pattern = models.CharField(max_length=24)
    starts_at = models.CharField(max_length=10, blank=True, default="")
    restful_end = models.CharField(max_length=10, default="none")
    rests_muscles = ArrayField(models.CharField(max_length=20), default=list)
    primary_muscles = ArrayField(models.CharField(max_length=20))
    secondary_muscles = ArrayField(models.CharField(max_length=20), default=list)
    laterality = models.CharField(max_length=12)
    measure = models.CharField(max_length=8)
    phase_words = models.JSONField(null=True, blank=True)
    station = models.CharField(max_length=40, blank=True, default="")
    equipment = ArrayField(models.CharField(max_length=40), default=list)
    load_basis = models.CharField(max_length=11)
    loading = models.CharField(max_length=20)
    bodyweight_share = models.DecimalField(max_digits=4, decimal_places=3, default=Decimal(0))
    repetition_s = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal(4))
    complexity = models.PositiveSmallIntegerField(default=1)
    row_version = models.PositiveIntegerField(default=1)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="exercise_business_id"),
            models.UniqueConstraint(fields=["business", "key"], name="exercise_key"),
        ]
        indexes = [
            # The catalogue by name.
            models.Index(fields=["business", "name", "id"], name="exercise_name"),
        ]

    def __str__(self) -> str:
        return self.key
