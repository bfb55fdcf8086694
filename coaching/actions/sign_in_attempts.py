"""Slow down whoever guesses passwords and codes, without locking out whose account it is."""

from datetime import datetime, timedelta
from math import ceil
from typing import Any, Final
from uuid import UUID

from django.db.models import Count, F, Min, Q
from django.utils.crypto import salted_hmac

from coaching.actions.audit_trail import Origin
from coaching.models.sign_in_attempts import Refused, SignInAttempt
from coaching.refusals import TooMany
from coaching.selectors.sign_in_attempts import WINDOW, window_start

PER_ACCOUNT_AND_ADDRESS: Final = 5
"""Failures on one account from one address. Practice."""

PER_ADDRESS: Final = 30
"""Failures from one address on whatever accounts: a gym's whole team may share one. Practice."""

PER_ACCOUNT: Final = 20
"""Failures on one account from all addresses but those it was entered from. Practice.

With three codes of a million good at a time, whoever has a password guesses its code within a day with less than 1 %.
"""

KNOWN_FOR: Final = timedelta(days=30)
"""How long an address from which the account was entered stays a known one, and attempts are kept. Practice."""

# A password that was right and a code that was not sent yet is half of an ordinary sign-in; what was not looked at is
# no failure: else a caller who goes on asking would wait for ever.
_NO_FAILURES: Final = (Refused.CODE_MISSING, Refused.THROTTLED)


def begin_attempt(
    *,
    email: str,
    person_id: UUID | None = None,
    credential_id: UUID | None = None,
    origin: Origin,
    now: datetime,
) -> UUID:
    """Count an attempt before its password or code is looked at, and return its id.

    It is written down first and counted then: of any number at once, no more than the limit get through. An account
    that does not exist is counted like one that does, by the same statements. Failures elsewhere never shut out an
    address from which the account was entered before, so that a stranger can't lock its owner out.

    Raises:
        TooMany: with the seconds after which to try again.
    """
    attempt = SignInAttempt.objects.create(
        account_digest=_digest(email),
        person_id=person_id,
        credential_id=credential_id,
        address=origin.address or "",
        request_id=origin.request_id,
        at=now,
    )
    counts = _counts(attempt, now)
    limits = [("of_both", PER_ACCOUNT_AND_ADDRESS), ("of_address", PER_ADDRESS)]
    if counts["of_account"] >= PER_ACCOUNT and not _entered_before(attempt, now):
        limits.append(("of_account", PER_ACCOUNT))
    waits = [counts[f"{name}_since"] + WINDOW - now for name, limit in limits if counts[name] >= limit]
    if waits:
        _keep_throttled(attempt, counts, now)
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


def note_refusal(*, attempt_id: UUID, refused: Refused) -> None:
    """Write down why an attempt was not let in."""
    SignInAttempt.objects.filter(id=attempt_id).update(refused=refused)


def forget_attempt(*, attempt_id: UUID) -> None:
    """Take back an attempt of which neither password nor code was looked at."""
    SignInAttempt.objects.filter(id=attempt_id).delete()


def forget_old_attempts(*, now: datetime) -> None:
    """Delete attempts that decide nothing any more."""
    SignInAttempt.objects.filter(at__lt=now - KNOWN_FOR).delete()


def _counts(attempt: SignInAttempt, now: datetime) -> dict[str, Any]:
    account, here = Q(account_digest=attempt.account_digest), Q(address=attempt.address)
    failed, throttled = ~Q(refused__in=_NO_FAILURES), Q(refused=Refused.THROTTLED, at__gte=window_start(now))
    others = SignInAttempt.objects.filter(at__gt=now - WINDOW, succeeded=False).exclude(id=attempt.id)
    return others.filter(account | here).aggregate(
        of_both=Count("id", filter=failed & account & here),
        of_both_since=Min("at", filter=failed & account & here),
        of_address=Count("id", filter=failed & here),
        of_address_since=Min("at", filter=failed & here),
        of_account=Count("id", filter=failed & account),
        of_account_since=Min("at", filter=failed & account),
        throttled_of_both=Count("id", filter=throttled & account & here),
        throttled_of_address=Count("id", filter=throttled & here),
    )


def _keep_throttled(attempt: SignInAttempt, counts: dict[str, Any], now: datetime) -> None:
    """Keep one row for an account, an address and a quarter of an hour, and few for an address.

    Whoever goes on asking fills no table; known and unknown accounts take the same statements.
    """
    if counts["throttled_of_both"] or counts["throttled_of_address"] >= PER_ADDRESS:
        SignInAttempt.objects.filter(
            account_digest=attempt.account_digest,
            address=attempt.address,
            refused=Refused.THROTTLED,
            at__gte=window_start(now),
        ).update(times=F("times") + 1)
        attempt.delete()
        return
    note_refusal(attempt_id=attempt.id, refused=Refused.THROTTLED)


def _entered_before(attempt: SignInAttempt, now: datetime) -> bool:
    return SignInAttempt.objects.filter(
        account_digest=attempt.account_digest, address=attempt.address, succeeded=True, at__gt=now - KNOWN_FOR
    ).exists()


def _digest(email: str) -> str:
    return salted_hmac("coaching.sign_in_attempts", email.strip().lower(), algorithm="sha256").hexdigest()
