"""Slow down whoever guesses passwords, without locking out whose account it is."""

from datetime import datetime, timedelta
from math import ceil
from typing import Final
from uuid import UUID

from django.db.models import Count, Min, Q
from django.utils.crypto import salted_hmac

from coaching.models.sign_in_attempts import SignInAttempt
from coaching.refusals import TooMany

WINDOW: Final = timedelta(minutes=15)
"""How far back attempts count. Practice."""

PER_ACCOUNT_AND_ADDRESS: Final = 5
"""Failures on one account from one address. Practice."""

PER_ADDRESS: Final = 30
"""Failures from one address on whatever accounts: a gym's whole team may share one. Practice."""

PER_ACCOUNT: Final = 20
"""Failures on one account from all addresses but those it was entered from. Practice."""

KNOWN_FOR: Final = timedelta(days=30)
"""How long an address from which the account was entered stays a known one, and attempts are kept. Practice."""


def begin_attempt(*, email: str, address: str, now: datetime) -> UUID:
    """Count an attempt before its password is looked at, and return its id.

    It is written down first and counted then: of any number at once, no more than the limit get through. An account
    that does not exist is counted like one that does. Failures elsewhere never shut out an address from which the
    account was entered before, so that a stranger can't lock its owner out.

    Raises:
        TooMany: with the seconds after which to try again.
    """
    attempt = SignInAttempt.objects.create(account_digest=_digest(email), address=address, at=now)
    since = now - WINDOW
    failed = SignInAttempt.objects.filter(at__gt=since, succeeded=False).exclude(id=attempt.id)
    account, here = Q(account_digest=attempt.account_digest), Q(address=address)
    counts = failed.filter(account | here).aggregate(
        of_both=Count("id", filter=account & here),
        of_both_since=Min("at", filter=account & here),
        of_address=Count("id", filter=here),
        of_address_since=Min("at", filter=here),
        of_account=Count("id", filter=account),
        of_account_since=Min("at", filter=account),
    )
    limits = [("of_both", PER_ACCOUNT_AND_ADDRESS), ("of_address", PER_ADDRESS)]
    if counts["of_account"] >= PER_ACCOUNT and not _entered_before(attempt, now):
        limits.append(("of_account", PER_ACCOUNT))
    waits = [counts[f"{name}_since"] + WINDOW - now for name, limit in limits if counts[name] >= limit]
    if waits:
        # What was not looked at is no failure: else a caller who goes on asking would wait for ever.
        attempt.delete()
        wait_s = max(1, ceil(max(waits).total_seconds()))
        raise TooMany(
            f"There were too many attempts to sign in. Try again in {ceil(wait_s / 60)} minutes, "
            "or set a new password if it is forgotten.",
            retry_after_s=wait_s,
        )
    return attempt.id


def note_success(*, attempt_id: UUID) -> None:
    """Write down that an attempt was let in: it is no failure, and its address is known from now on."""
    SignInAttempt.objects.filter(id=attempt_id).update(succeeded=True)


def forget_old_attempts(*, now: datetime) -> None:
    """Delete attempts that decide nothing any more."""
    SignInAttempt.objects.filter(at__lt=now - KNOWN_FOR).delete()


def _entered_before(attempt: SignInAttempt, now: datetime) -> bool:
    return SignInAttempt.objects.filter(
        account_digest=attempt.account_digest, address=attempt.address, succeeded=True, at__gt=now - KNOWN_FOR
    ).exists()


def _digest(email: str) -> str:
    return salted_hmac("coaching.sign_in_attempts", email.strip().lower(), algorithm="sha256").hexdigest()
