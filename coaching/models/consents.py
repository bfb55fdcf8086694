"""What clients agreed to, in which words, and when they took it back."""

from django.db import models

from coaching.models.clients import Client
from coaching.tenancy.models import BusinessScopedModel


class ConsentKind(models.TextChoices):
    """What a consent is about."""

    HEALTH_DATA = "health_data"
    PHOTOS_AND_VIDEO = "photos_and_video"
    MESSAGES = "messages"
    SHARING = "sharing"
    OTHER = "other"


class ConsentGivenHow(models.TextChoices):
    """How a consent was given or taken back: by the client in their account, or to a coach who wrote it down."""

    IN_ACCOUNT = "in_account"
    ON_PAPER = "on_paper"
    SPOKEN = "spoken"


class ConsentText(BusinessScopedModel):
    """The exact words that clients are asked to agree to; other words are another version, and none ever changes."""

    kind = models.CharField(max_length=16, choices=ConsentKind)
    version = models.PositiveIntegerField()
    text = models.TextField()
    # Of the text in UTF-8, in hex.
    text_sha256 = models.CharField(max_length=64)
    # By id alone: the words outlive who wrote them.
    created_by = models.UUIDField()
    created_at = models.DateTimeField()

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="consent_text_business_id"),
            models.UniqueConstraint(fields=["business", "kind", "version"], name="consent_text_version"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} version {self.version}"


class Consent(BusinessScopedModel):
    """A client's yes to a text. It is never changed, only withdrawn, once: the database refuses anything else."""

    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, db_constraint=False, db_index=False, related_name="consents"
    )
    text = models.ForeignKey(
        ConsentText, on_delete=models.PROTECT, db_constraint=False, db_index=False, related_name="+"
    )
    given_on = models.DateField()
    given_how = models.CharField(max_length=10, choices=ConsentGivenHow)
    recorded_by = models.UUIDField()
    recorded_at = models.DateTimeField()
    withdrawn_on = models.DateField(null=True, blank=True)
    withdrawn_how = models.CharField(max_length=10, choices=ConsentGivenHow, blank=True, default="")
    withdrawn_by = models.UUIDField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="consent_business_id"),
            models.UniqueConstraint(
                fields=["business", "client", "text"],
                name="consent_one_standing",
                condition=models.Q(withdrawn_at=None),
            ),
        ]
        indexes = [
            # A client's, newest first.
            models.Index(fields=["business", "client", "recorded_at", "id"], name="consent_client"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} to {self.text_id} on {self.given_on}"
