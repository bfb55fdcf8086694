"""Credentials of programs: API keys of a business."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.models.people import Membership
from coaching.tenancy.models import BusinessScopedModel


class ApiKey(BusinessScopedModel):
    """A program's key: only its public prefix and the SHA-256 of the whole are kept.

    A fast hash is right for 256 random bits; `source` is what the key's logs are filed under. After a rotation the
    secret before it stays good until `previous_ends_at`; `last_used_at` is of the present one.
    """

    name = models.CharField(max_length=100)
    prefix = models.CharField(max_length=8, unique=True)
    digest = models.CharField(max_length=64)
    scopes = ArrayField(models.CharField(max_length=20))
    source = models.CharField(max_length=60, blank=True, default="")
    client_ids = ArrayField(models.UUIDField(), null=True, blank=True)
    created_by = models.ForeignKey(
        Membership, on_delete=models.SET_NULL, null=True, db_constraint=False, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)
    rotated_at = models.DateTimeField(null=True, blank=True)
    previous_digest = models.CharField(max_length=64, blank=True, default="")
    previous_ends_at = models.DateTimeField(null=True, blank=True)
    previous_last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [models.UniqueConstraint(fields=["business", "id"], name="api_key_business_id")]

    def __str__(self) -> str:
        return f"{self.name} (cp_{self.prefix}_…)"
