"""Who did what, when and from where: rows that nobody changes."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class ActorKind(models.TextChoices):
    """What kind of caller acted."""

    PERSON = "person"
    KEY = "key"
    OPERATOR = "operator"
    # The service itself, by its rules.
    SERVICE = "service"
    # Somebody who was not let in.
    UNKNOWN = "unknown"


class AuditEntry(BusinessScopedModel):
    """One thing done in a business; the database refuses to change or delete it.

    It holds ids and the names of the fields sent, and values only of settings, roles and scopes: nothing personal,
    so that a client can be erased whole without touching the trail.
    """

    at = models.DateTimeField()
    operation = models.CharField(max_length=60)
    actor_kind = models.CharField(max_length=8, choices=ActorKind)
    # A membership, or a key: by id alone, since the trail outlives both.
    actor_id = models.UUIDField(null=True)
    credential_id = models.UUIDField(null=True)
    address = models.GenericIPAddressField(null=True)
    request_id = models.CharField(max_length=64, blank=True, default="")
    object_id = models.CharField(max_length=80, blank=True, default="")
    fields = ArrayField(models.CharField(max_length=80), default=list)
    values = models.JSONField(default=dict)

    class Meta(BusinessScopedModel.Meta):
        indexes = [
            # Newest first.
            models.Index(fields=["business", "at", "id"], name="audit_entry_at"),
            # What one caller did.
            models.Index(fields=["business", "actor_id", "at", "id"], name="audit_entry_actor"),
            # What was done to one object.
            models.Index(fields=["business", "object_id", "at", "id"], name="audit_entry_object"),
            # What was done of one kind, and from one place.
            models.Index(fields=["business", "operation", "at", "id"], name="audit_entry_operation"),
            models.Index(fields=["business", "address", "at", "id"], name="audit_entry_address"),
        ]

    def __str__(self) -> str:
        return f"{self.operation} at {self.at:%Y-%m-%d %H:%M}"
