"""Take away the account with which an erased client signed in, unless it is another business's too."""

from collections.abc import Callable, Iterator
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import connection, models

from coaching.models.people import Membership, Person, Role, SessionToken
from coaching.tenancy.models import BusinessScopedModel

Count = Callable[[str, int], None]


def erase_account(*, membership_id: UUID, gone_ids: set[UUID], count: Count) -> None:
    """Delete a client's membership with its sessions, and the account where it is in no business any more.

    A membership of another role is somebody of the team who was coached too: it stays.

    Args:
        membership_id: the client's.
        gone_ids: takes the ids of what goes, and of the account, by which mails to it are found.
        count: notes how many rows of a table went.
    """
    membership = Membership.objects.filter(id=membership_id, role=Role.CLIENT).first()
    if membership is None:
        return
    person_id = membership.person_id
    tokens = SessionToken.objects.filter(membership_id=membership_id)
    count(SessionToken._meta.db_table, tokens.delete()[0])
    with connection.cursor() as cursor:
        # Not by the model, which would look for what hangs on a coach.
        cursor.execute("DELETE FROM coaching_membership WHERE id = %s", [membership_id])
        count(Membership._meta.db_table, cursor.rowcount)
    gone_ids.add(membership_id)
    # This business has written to the account, and forgets what it wrote even where the account stays.
    gone_ids.add(person_id)
    for model, name in _of_accounts():
        rows: models.QuerySet[Any] = models.QuerySet(model).filter(**{name: person_id})
        gone_ids.update(one for one in rows.values_list("pk", flat=True) if isinstance(one, UUID))
    if not _forget(person_id):
        return
    count(Person._meta.db_table, 1)
    for model, name in _of_accounts():
        count(model._meta.db_table, models.QuerySet(model).filter(**{name: person_id}).delete()[0])


def _forget(person_id: UUID) -> bool:
    """Ask the database to delete the account: it looks whether any business has it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT forget_account(%s)", [person_id])
        return bool(cursor.fetchone()[0])


def _of_accounts() -> Iterator[tuple[type[models.Model], str]]:
    """Yield what belongs to an account: by a key to it, or by its id alone."""
    for model in apps.get_models():
        if issubclass(model, BusinessScopedModel) or model is Person:
            continue
        for column in model._meta.concrete_fields:
            if _is_key_to_a_person(column) or column.attname == "person_id":
                yield model, column.attname


def _is_key_to_a_person(column: Any) -> bool:
    return isinstance(column, models.ForeignKey) and column.related_model is Person
