"""Attempts to sign in, counted so that guessing is slow."""

from django.db import models

from coaching.tenancy.models import new_id


class Refused(models.TextChoices):
    """Why an attempt was not let in."""

    WRONG_PASSWORD = "wrong_password"  # noqa: S105 -- a reason
    WRONG_CODE = "wrong_code"
    NOT_LET_IN = "not_let_in"
    # The password was right, and the account has a second factor.
    CODE_MISSING = "code_missing"
    # Not looked at: too many before it.
    THROTTLED = "throttled"


class SignInAttempt(models.Model):
    """One attempt on an account from an address. Outside row-level security: no business is known yet.

    The account is kept as a keyed digest of the email address, whether or not there is such an account, and as its
    person's id where there is one, for the trail of the businesses that they are in; rows are deleted after 30 days.
    An attempt that is still looked at is neither refused nor succeeded, and counts as a failure.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    account_digest = models.CharField(max_length=64)
    person_id = models.UUIDField(null=True)
    address = models.GenericIPAddressField()
    # The session that was open, where somebody signed in proves who they are once more.
    credential_id = models.UUIDField(null=True)
    request_id = models.CharField(max_length=64, blank=True, default="", db_default="")
    succeeded = models.BooleanField(default=False)
    refused = models.CharField(max_length=16, choices=Refused, blank=True, default="", db_default="")
    # How often it was asked again while throttled.
    times = models.PositiveIntegerField(default=1, db_default=1)
    # Whether it stands in the trail of the person's businesses.
    told = models.BooleanField(default=False, db_default=False)
    at = models.DateTimeField()

    class Meta:
        indexes = [
            # How often an account was tried, and from where it was entered.
            models.Index(fields=["account_digest", "at"], name="sign_in_attempt_account"),
            # How often an address tried.
            models.Index(fields=["address", "at"], name="sign_in_attempt_address"),
            # What is old enough to forget.
            models.Index(fields=["at"], name="sign_in_attempt_at"),
            # What the trail has still to be told.
            models.Index(
                fields=["at"],
                name="sign_in_attempt_untold",
                condition=models.Q(told=False, person_id__isnull=False) & ~models.Q(refused=""),
            ),
            # What it was told of an account of late.
            models.Index(fields=["person_id", "at"], name="sign_in_attempt_person"),
        ]

    def __str__(self) -> str:
        return f"{self.address} at {self.at:%Y-%m-%d %H:%M}"
