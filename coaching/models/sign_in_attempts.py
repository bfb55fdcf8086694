"""Attempts to sign in, counted so that guessing is slow."""

from django.db import models

from coaching.tenancy.models import new_id


class SignInAttempt(models.Model):
    """One attempt on an account from an address. Outside row-level security: no business is known yet.

    The account is kept as a keyed digest of the email address, whether or not there is such an account; rows are
    deleted after 30 days.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    account_digest = models.CharField(max_length=64)
    address = models.GenericIPAddressField()
    succeeded = models.BooleanField(default=False)
    at = models.DateTimeField()

    class Meta:
        indexes = [
            # How often an account was tried, and from where it was entered.
            models.Index(fields=["account_digest", "at"], name="sign_in_attempt_account"),
            # How often an address tried.
            models.Index(fields=["address", "at"], name="sign_in_attempt_address"),
            # What is old enough to forget.
            models.Index(fields=["at"], name="sign_in_attempt_at"),
        ]

    def __str__(self) -> str:
        return f"{self.address} at {self.at:%Y-%m-%d %H:%M}"
