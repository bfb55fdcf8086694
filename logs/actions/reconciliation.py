"""What should exist by the facts of the last days and does not; what has expired and still does."""

from datetime import datetime
from uuid import UUID

from coaching.tenancy.scope import business_scope
from logs.actions.alerts import LOOKS_BACK, SESSIONS_A_PIECE, SessionToAlert, detect_missed, raise_alerts
from logs.models import HeldItem
from logs.selectors.alerts import list_unalerted_sessions


def reconcile_alerts(business_id: UUID, now: datetime) -> bool:
    """Mark what is due and unmarked, and alert what is missed and was never alerted.

    Returns:
        Whether more may be missing.
    """
    more_due = detect_missed(business_id, now)
    with business_scope(business_id):
        missing = list_unalerted_sessions(due_from=now - LOOKS_BACK, limit=SESSIONS_A_PIECE)
        raise_alerts(sessions=[SessionToAlert(*row) for row in missing], now=now)
    return more_due or len(missing) == SESSIONS_A_PIECE


def expire_held_items(business_id: UUID, now: datetime) -> bool:
    """Delete items whose session never came within their time; never more due."""
    with business_scope(business_id):
        HeldItem.objects.filter(expires_at__lte=now).delete()
    return False
