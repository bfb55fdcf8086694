"""Delete what the kernel keeps for a time only."""

from datetime import datetime
from uuid import UUID

from coaching.actions.idempotency import purge_answers
from coaching.actions.invitations import forget_old_invitations
from coaching.actions.password_resets import forget_old_resets
from coaching.actions.sessions import forget_ended_sessions
from coaching.actions.sign_in_attempts import forget_old_attempts
from coaching.tenancy.scope import business_scope


def purge_expired_answers(business_id: UUID, now: datetime) -> bool:
    """Delete a business's answers kept for retries, ended invitations, and attempts on accounts, in their time."""
    with business_scope(business_id):
        purge_answers(now=now)
        forget_old_attempts(now=now)
        forget_ended_sessions(now=now)
        forget_old_resets(now=now)
        forget_old_invitations(now=now)
    return False
