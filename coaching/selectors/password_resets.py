"""Reading requests for a new password."""

from datetime import datetime
from uuid import UUID

from django.db.models import BooleanField, F, Func, QuerySet

from coaching.models.password_resets import PasswordReset
from coaching.selectors.credentials import list_places


def find_standing_reset(*, reset_id: UUID, now: datetime) -> PasswordReset | None:
    """Return a request whose link still holds, with its person: neither used, nor replaced, nor too old."""
    return (
        PasswordReset.objects.filter(id=reset_id, ended_at=None, expires_at__gt=now, person__is_active=True)
        .select_related("person")
        .first()
    )


def list_waiting_resets(now: datetime) -> QuerySet[PasswordReset]:
    """Return requests of accounts whose mail is not queued yet, the oldest first.

    Those of people in no business wait for nothing: they would stand in the way of the others.
    """
    is_somewhere = Func(
        F("person_id"),
        template="EXISTS (SELECT 1 FROM memberships_of(%(expressions)s))",
        output_field=BooleanField(),
    )
    rows: QuerySet[PasswordReset] = PasswordReset.objects.filter(
        is_somewhere, queued_at=None, ended_at=None, expires_at__gt=now, person__is_active=True
    ).order_by("requested_at", "id")
    return rows


def list_businesses_with_waiting_resets(now: datetime) -> list[UUID]:
    """Return the businesses through which such mails go: the first of each person's."""
    people = dict.fromkeys(list_waiting_resets(now).values_list("person_id", flat=True)[:200])
    places = [list_places(person_id=person_id) for person_id in people]
    return list(dict.fromkeys(found[0].business_id for found in places if found))
