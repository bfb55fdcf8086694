"""Requests for a new password, whether or not there is such an account."""

from django.db import models

from coaching.models.people import Person
from coaching.tenancy.models import new_id


class PasswordReset(models.Model):
    """One request. Outside row-level security: it belongs to an account, and no business is known yet.

    A request for an address without an account is a row like any other, with no person: it takes the same work, and
    counts towards the same limits. The address itself is kept as a keyed digest; the link is signed when its mail is
    written, and kept nowhere. Rows are deleted after a day.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    account_digest = models.CharField(max_length=64)
    address = models.GenericIPAddressField()
    person = models.ForeignKey(Person, on_delete=models.CASCADE, null=True, db_index=False, related_name="+")
    requested_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    # Used, or made void by a newer one or another password.
    ended_at = models.DateTimeField(null=True, blank=True)
    queued_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            # How often an account was asked for.
            models.Index(fields=["account_digest", "requested_at"], name="password_reset_account"),
            # How often an address asked.
            models.Index(fields=["address", "requested_at"], name="password_reset_address"),
            # Those of a person that still hold.
            models.Index(fields=["person"], name="password_reset_person", condition=models.Q(ended_at=None)),
            # What waits for its mail.
            models.Index(
                fields=["requested_at"],
                name="password_reset_waiting",
                condition=models.Q(queued_at=None, person__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.address} at {self.requested_at:%Y-%m-%d %H:%M}"
