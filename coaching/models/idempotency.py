"""Answers kept for retries under the same Idempotency-Key."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.tenancy.models import BusinessScopedModel


class IdempotentAnswer(BusinessScopedModel):
    """What a credential's request under a key was answered, kept for 48 hours.

    `named` are the ids that request and answer name: an answer about somebody who is erased goes with them.
    """

    credential_id = models.UUIDField()
    key = models.CharField(max_length=255)
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    headers = models.JSONField(default=dict)
    body = models.BinaryField()
    named = ArrayField(models.UUIDField(), default=list, db_default=[])
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "credential_id", "key"], name="idempotent_answer_key"),
        ]
        indexes = [
            # The purge of answers older than 48 hours.
            models.Index(fields=["created_at"], name="idempotent_answer_age"),
        ]

    def __str__(self) -> str:
        return self.key
