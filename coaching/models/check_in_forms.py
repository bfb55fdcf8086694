"""A business's own questions for check-ins: versioned lists, so that an answer always knows what was asked."""

from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class FormCadence(models.TextChoices):
    """How often a form is answered, which decides what its answers are compared with."""

    DAILY = "daily"
    WEEKLY = "weekly"


class CheckInForm(BusinessScopedModel):
    """A form with its present questions; `CheckInFormVersion` keeps every list that it had, this one too."""

    name = models.CharField(max_length=120)
    cadence = models.CharField(max_length=6, choices=FormCadence)
    version = models.PositiveIntegerField(default=1)
    questions = models.JSONField()
    # No longer offered; late answers to it are taken all the same.
    retired = models.BooleanField(default=False)
    row_version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="check_in_form_business_id"),
            models.UniqueConstraint(fields=["business", "name"], name="check_in_form_name"),
        ]

    def __str__(self) -> str:
        return f"{self.name} v{self.version}"


class CheckInFormVersion(BusinessScopedModel):
    """The questions of one version of a form; never changed, since answers refer to it."""

    form = models.ForeignKey(
        CheckInForm, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="versions"
    )
    number = models.PositiveIntegerField()
    questions = models.JSONField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "form", "number"], name="check_in_form_version"),
        ]

    def __str__(self) -> str:
        return f"{self.form_id} v{self.number}"
