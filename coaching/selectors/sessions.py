"""Reading the sessions of a signed-in person."""

from uuid import UUID

from django.db.models import QuerySet

from coaching.models.people import SessionToken


def list_session_tokens(*, membership_id: UUID) -> QuerySet[SessionToken]:
    """Return a membership's session tokens, ended ones too until they are next met."""
    rows: QuerySet[SessionToken] = SessionToken.objects.filter(membership_id=membership_id)
    return rows
