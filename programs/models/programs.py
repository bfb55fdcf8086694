"""Programs, their variants, and the versions that are assigned."""

from django.db import models

from coaching.models import Membership
from coaching.tenancy.models import BusinessScopedModel


class VersionState(models.TextChoices):
    """A version is written as a draft, frozen when published, and may be withdrawn from new use."""

    DRAFT = "draft"
    PUBLISHED = "published"
    WITHDRAWN = "withdrawn"


class Program(BusinessScopedModel):
    """What a coach sells under one name."""

    name = models.CharField(max_length=200)
    notes = models.TextField(blank=True, default="")
    archived = models.BooleanField(default=False)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "id"], name="program_business_id")]

    def __str__(self) -> str:
        return self.name


class Variant(BusinessScopedModel):
    """One way to run a program: on three days, with a home kit."""

    program = models.ForeignKey(
        Program, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="variants"
    )
    name = models.CharField(max_length=120)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="variant_business_id"),
            models.UniqueConstraint(fields=["business", "program", "name"], name="variant_name"),
        ]

    def __str__(self) -> str:
        return self.name


class Version(BusinessScopedModel):
    """One writing of a variant: a validated document (`programs/prescription/document.py`), kept whole.

    There are no tables for weeks, days, blocks and slots: they are replaced together and never queried
    apart. A published version never changes.
    """

    variant = models.ForeignKey(
        Variant, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="versions"
    )
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=9, choices=VersionState, default=VersionState.DRAFT)
    content = models.JSONField()
    content_hash = models.CharField(max_length=64)
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        Membership,
        on_delete=models.SET_NULL,
        null=True,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="version_business_id"),
            models.UniqueConstraint(fields=["business", "variant", "number"], name="version_number"),
            models.UniqueConstraint(
                fields=["business", "variant"],
                name="version_one_draft",
                condition=models.Q(state="draft"),
            ),
        ]

    def __str__(self) -> str:
        return f"version {self.number} ({self.state})"
