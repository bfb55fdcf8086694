"""Who was invited to a business, and what became of it."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from coaching.models.clients import Client
from coaching.models.people import Membership, Role
from coaching.tenancy.models import BusinessScopedModel


class Invitation(BusinessScopedModel):
    """An address asked to join, on the team or as a client with their own record.

    The link is signed when its mail is written and kept nowhere: it names this row and `sends`, so that a later one
    makes those before it void.
    """

    email = models.EmailField()
    role = models.CharField(max_length=10, choices=Role)
    # The record that becomes theirs; with role `client` only.
    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    invited_by = models.ForeignKey(
        Membership, on_delete=models.SET_NULL, null=True, db_constraint=False, db_index=False, related_name="+"
    )
    sends = models.PositiveSmallIntegerField(default=1)
    # Those of the last day, by which sending again is limited.
    sent_at = ArrayField(models.DateTimeField())
    last_sent_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField()

    class Meta(BusinessScopedModel.Meta):
        constraints = [
            models.UniqueConstraint(fields=["business", "id"], name="invitation_business_id"),
            models.CheckConstraint(
                condition=models.Q(role="client", client__isnull=False)
                | ~models.Q(role="client") & models.Q(client=None),
                name="invitation_client_is_of_clients",
            ),
        ]
        indexes = [
            # Newest first.
            models.Index(fields=["business", "created_at", "id"], name="invitation_created"),
            # How many mails went out in the last day.
            models.Index(fields=["business", "last_sent_at"], name="invitation_sent"),
            # What of a client goes with the client.
            models.Index(fields=["business", "client"], name="invitation_client"),
        ]

    def __str__(self) -> str:
        return f"{self.role} {self.created_at:%Y-%m-%d %H:%M}"
