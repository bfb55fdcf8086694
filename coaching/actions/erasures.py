"""Remove a person from a business: every row of theirs, and what quotes from it elsewhere, in one transaction.

Locks, in this order: open imports, the client, open messages, then the rows by table. The client is locked as a log
locks them, so that a log in flight commits first and is erased, or comes after and is refused. What stays is a row of
the ledger and the trail, both of ids, field names and counts.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.db import connection

from coaching import registry
from coaching.actions.account_erasure import erase_account
from coaching.actions.erased_traces import erase_traces, lock_open_messages, narrow_keys
from coaching.models.clients import Client
from coaching.models.erasures import Erasure
from coaching.policy import Principal, client_rows
from coaching.refusals import Fault, NotFound, Unprocessable
from coaching.tenancy.client_models import client_models
from coaching.tenancy.scope import current_business_id


class ConfirmationDiffers(Unprocessable):
    """An erasure can't be taken back, so the client's name is asked for once more."""

    code = "confirmation_differs"


@dataclass(slots=True)
class Gone:
    """What went.

    Attributes:
        ids: of every row, by which what quotes from them is found.
        counts: how many rows, by table.
    """

    ids: set[UUID] = field(default_factory=set)
    counts: dict[str, int] = field(default_factory=dict)

    def add(self, table: str, ids: Iterable[UUID]) -> None:
        """Note rows that went."""
        listed = list(ids)
        self.ids.update(listed)
        self.count(table, len(listed))

    def count(self, table: str, rows: int) -> None:
        """Note how many rows of a table went, or were emptied."""
        if rows:
            self.counts[table] = self.counts.get(table, 0) + rows


def erase_client(*, actor: Principal, client_id: UUID, confirm: str, now: datetime) -> Erasure:
    """Erase a client for good.

    Args:
        actor: who decides it.
        client_id: who is erased.
        confirm: the client's name.
        now: the present instant.

    Raises:
        NotFound: there is no such client whom the actor may see.
        ConfirmationDiffers: the name is another.
    """
    name = Client.objects.filter(client_rows(actor, ""), id=client_id).values_list("name", flat=True).first()
    if name is None:
        raise NotFound("There is no such client that you may see.")
    if confirm != name:
        told = "confirm is the client's name, to the letter; erasing can't be taken back."
        raise ConfirmationDiffers(told, faults=[Fault("#/confirm", ConfirmationDiffers.code, told)])
    erased = erase_rows(client_id=client_id, erased_by=actor.membership_id, now=now)
    if erased is None:
        raise NotFound("There is no such client that you may see.")
    return erased


def erase_rows(*, client_id: UUID, erased_by: UUID | None, now: datetime) -> Erasure | None:
    """Erase a client, and write it into the ledger, in the business in scope; None where there is no such client."""
    if not Client.objects.filter(id=client_id).exists():
        return None
    gone = Gone(ids={client_id})
    for empty in registry.before_client_erased:
        gone.add(*empty(client_id, now))
    client = (
        Client.objects.select_for_update(no_key=True)
        .filter(id=client_id)
        .values_list("coach_id", "membership_id")
        .first()
    )
    if client is None:
        return None
    coach_id, membership_id = client
    lock_open_messages()
    for one in client_models():
        gone.add(one.table, _delete_rows(one.table, one.condition, client_id))
    gone.add(Client._meta.db_table, _delete_rows(Client._meta.db_table, "id = %(client)s", client_id))
    if membership_id is not None:
        erase_account(membership_id=membership_id, gone_ids=gone.ids, count=gone.count)
    key_ids = narrow_keys(client_id=client_id, now=now)
    gone.count("coaching_apikey", len(key_ids))
    erase_traces(ids=gone.ids, count=gone.count, now=now)
    for follow in registry.on_client_erased:
        gone.count(*follow(client_id, now))
    # In the ledger already where a restored backup had brought them back.
    erasure, _created = Erasure.objects.get_or_create(
        client_id=client_id,
        defaults={
            "erased_at": now,
            "erased_by": erased_by,
            "coach_id": coach_id,
            "key_ids": key_ids,
            "counts": dict(sorted(gone.counts.items())),
        },
    )
    return erasure


def _delete_rows(table: str, condition: str, client_id: UUID) -> list[UUID]:
    with connection.cursor() as cursor:
        cursor.execute(
            f"DELETE FROM {table} WHERE business_id = %(business)s AND {condition} RETURNING id",
            {"client": client_id, "business": current_business_id()},
        )
        return [row[0] for row in cursor.fetchall()]
