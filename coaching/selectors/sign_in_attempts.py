"""Attempts to sign in, and which of them the trail has still to be told of."""

from datetime import UTC, datetime, timedelta
from typing import Final
from uuid import UUID

from django.db.models import Q, QuerySet

from coaching.models.sign_in_attempts import Refused, SignInAttempt
from coaching.selectors.due_work import list_one_business

WINDOW: Final = timedelta(minutes=15)
"""How far back attempts count. Practice."""

TOLD_AT_ONCE: Final = (Refused.WRONG_PASSWORD, Refused.WRONG_CODE, Refused.NOT_LET_IN)
"""Reasons of which the first in a quarter of an hour are told one by one; the others wait for its end."""


def window_start(instant: datetime) -> datetime:
    """Return the start of the quarter of an hour, by the clock, that an instant is in."""
    return instant - (instant - datetime.min.replace(tzinfo=UTC)) % WINDOW


def list_untold_attempts(*, now: datetime) -> QuerySet[SignInAttempt]:
    """Return refused attempts on accounts that the trail may be told of by now, oldest first."""
    due = Q(refused__in=TOLD_AT_ONCE) | Q(at__lt=window_start(now))
    waiting = SignInAttempt.objects.filter(due, told=False, person_id__isnull=False).exclude(refused="")
    return waiting.order_by("at", "id")


def list_business_to_tell_for(now: datetime) -> list[UUID]:
    """Return one business, in whose turn all that waits is told, whichever businesses it is for; or none."""
    return list_one_business(now) if list_untold_attempts(now=now).exists() else []
