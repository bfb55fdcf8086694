"""Delete what the kernel keeps for a time only."""

from datetime import datetime
from uuid import UUID

from coaching.actions.idempotency import purge_answers
from coaching.actions.sign_in_attempts import forget_old_attempts
from coaching.tenancy.scope import business_scope


def purge_expired_answers(business_id: UUID, now: datetime) -> bool:
    """Delete a business's answers kept for retries, and attempts to sign in, once their time is over."""
    with business_scope(business_id):
        purge_answers(now=now)
        forget_old_attempts(now=now)
    return False
