"""Reading the sessions of a signed-in person."""

from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from coaching.models.people import SessionToken


def list_session_tokens(*, membership_id: UUID, now: datetime | None = None) -> QuerySet[SessionToken]:
    """Return a membership's session tokens, only those open at an instant where one is given."""
    rows: QuerySet[SessionToken] = SessionToken.objects.filter(membership_id=membership_id)
    return rows if now is None else rows.filter(Q(expiry__isnull=True) | Q(expiry__gt=now))
