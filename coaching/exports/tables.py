"""The tables of an export, found from the models: a new table can't be forgotten."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from django.apps import apps
from django.db import models
from django.db.models import Q, TextField
from django.db.models.functions import Cast

from coaching.exports.columns import columns_of
from coaching.models import (
    AuditEntry,
    Business,
    CheckInForm,
    CheckInFormVersion,
    Client,
    ConsentText,
    Membership,
    OutboxMessage,
    Person,
    Role,
)
from coaching.policy import OPERATIONS
from coaching.tenancy.client_models import ClientModel, client_models
from coaching.tenancy.models import BusinessScopedModel
from coaching.tenancy.scope import current_business_id

NEVER: Final = {
    "coaching.IdempotentAnswer": "answers kept for retries: copies of what stands in the other tables",
    "coaching.OperationPart": "the files of exports themselves",
    "coaching.StaleWeek": "which weeks wait to be counted anew",
}
"""Tables in no export, each with its reason."""

TEAMS: Final = {
    "coaching.Invitation": "invitations.read",
    "coaching.Operation": "",
    "logs.Flag": "flags.read",
    "logs.FlagEvaluation": "flags.read",
    "logs.HeldItem": "held_items.list",
    "logs.LogImport": "log_imports.read",
    "logs.MissedAlert": "alerts.list",
    "programs.MovementHold": "flags.read",
}
"""Tables that a client's own export leaves out, since no client may call the operation that shows them."""

OF_NOBODY: Final = {
    "coaching.ApiKey": "credentials of programs; a narrowed one names the client by id only",
    "coaching.Erasure": "the ledger of those who are gone",
    "coaching.RetentionPolicy": "a setting of the business",
    "logs.AlertDigest": "which coach was mailed on which day",
    "logs.LogBatch": "counts of what an app sent; the problems in it name the app's own ids of refused items",
    "programs.BusinessTimeline": "a setting of the business",
    "programs.Exercise": "the catalogue; what a row names of it stands beside the id",
    "programs.Program": "a plan for anybody; what was prescribed to the client stands with their sessions",
    "programs.Variant": "a plan for anybody",
    "programs.Version": "a plan for anybody",
}
"""Tables of a business that hold nothing of one client, each with its reason."""

ALSO: Final = frozenset(
    model._meta.label
    for model in (AuditEntry, CheckInForm, CheckInFormVersion, Client, ConsentText, Membership, OutboxMessage)
)
"""Tables of which a client's export holds rows without a key to the client."""

OF_THE_TEAM: Final = frozenset({"viewers", "changed_by_id", "recorded_by", "withdrawn_by", "replaced_by"})
"""Columns that a client's own export leaves out: who of the team did something, or reads along."""

_AUDIT_OF_OTHERS: Final = frozenset({"actor_id", "credential_id", "address", "request_id"})


@dataclass(frozen=True, slots=True)
class Table:
    """Rows to write.

    Attributes:
        name: of the file, and of the member of the document.
        columns: in their order.
        rows: in the order of their ids.
    """

    name: str
    columns: tuple[str, ...]
    rows: models.QuerySet[Any, Any]

    def ids_after(self, last: UUID | None, *, at_most: int) -> list[UUID]:
        """Return the ids of the rows that follow one; of the first rows where none is named."""
        following = self.rows if last is None else self.rows.filter(id__gt=last)
        return list(following.values_list("id", flat=True)[:at_most])

    def rows_of(self, ids: list[UUID]) -> list[tuple[Any, ...]]:
        """Return a few rows with what they name.

        Joined to all of a business's logs instead, by a plan of old statistics, names ran into the database's limit.
        """
        rows = _rows(self.rows.model).filter(id__in=ids).order_by("id")
        return list(rows.values_list(*self.columns))


def client_tables(*, client_id: UUID, role: str, membership_id: UUID) -> list[Table]:
    """Return the tables of a client's whole record, as far as a role may see it.

    Args:
        client_id: whose.
        role: who asks.
        membership_id: of who asks.
    """
    hidden = {*NEVER, *(TEAMS if role == Role.CLIENT else ())}
    reached = [one for one in client_models() if one.model._meta.label not in hidden]
    client = Client.objects.get(id=client_id)
    without = OF_THE_TEAM if role == Role.CLIENT else frozenset()
    tables = [_table(Client, Q(id=client_id), without=without), *_account(client)]
    tables += [_table(one.model, Q(**{_path(one): client_id}), without=without) for one in reversed(reached)]
    tables += [_words(reached, client_id), *_mails(client)]
    return tables + _trail_of_client(client_id, role, membership_id)


def business_tables() -> list[Table]:
    """Return every table of the business in scope."""
    own = [
        model
        for model in apps.get_models()
        if issubclass(model, BusinessScopedModel) and model._meta.label not in NEVER
    ]
    people = Membership.objects.values("person_id")
    return [
        _table(Business, Q(id=current_business_id())),
        _table(Person, Q(id__in=people)),
        *(_table(model, Q()) for model in own),
    ]


def trail_table(wanted: Q) -> Table:
    """Return the entries of the trail that a condition leaves."""
    return _table(AuditEntry, wanted)


def _table(model: type[models.Model], wanted: Q, *, without: Iterable[str] = (), only: Iterable[str] = ()) -> Table:
    columns = tuple(name for name in (tuple(only) or columns_of(model)) if name not in set(without))
    name = model._meta.label_lower.replace(".", "_")
    return Table(name, columns, _rows(model).filter(wanted).order_by("id"))


def _rows(model: type[models.Model]) -> Any:
    """Return a model's rows: of the business in scope, where they are a business's."""
    return getattr(model, "objects")  # noqa: B009 -- Django's types don't know it of any model


def _path(one: ClientModel) -> str:
    return "__".join(column.removesuffix("_id") for column, _parent in one.keys)


def _account(client: Client) -> list[Table]:
    if client.membership_id is None:
        return []
    person_id = Membership.objects.values_list("person_id", flat=True).get(id=client.membership_id)
    return [_table(Membership, Q(id=client.membership_id)), _table(Person, Q(id=person_id))]


def _words(reached: list[ClientModel], client_id: UUID) -> Table:
    """Return the questions that the client answered; the words of consents stand in the trail of them."""
    asked = Q(pk__in=[])
    for one in reached:
        for field in one.model._meta.concrete_fields:
            if field.related_model is CheckInForm:
                rows = _rows(one.model).filter(**{_path(one): client_id}, form__isnull=False)
                asked |= Q(form_id__in=rows.values(field.attname))
    return _table(CheckInFormVersion, asked)


def _mails(client: Client) -> list[Table]:
    texts = [_table(ConsentText, Q(id__in=client.consents.values("text_id")), without={"created_by"})]
    if not client.email:
        return texts
    theirs = Q(rendered__to=client.email, payload__icontains=str(client.id))
    shown = ("id", "kind", "state", "created_at", "settled_at", "rendered")
    return [*texts, _table(OutboxMessage, theirs, only=shown)]


def _trail_of_client(client_id: UUID, role: str, membership_id: UUID) -> list[Table]:
    """Return what the trail says of the client's rows: to who may read it; to the client what they did themselves."""
    if Role(role) in OPERATIONS["audit_entries.list"].roles:
        concerned = Q(object_id=str(client_id))
        for one in client_models():
            rows = _rows(one.model).filter(**{_path(one): client_id})
            concerned |= Q(object_id__in=rows.values(id_as_text=Cast("id", TextField())))
        return [_table(AuditEntry, concerned, without=_AUDIT_OF_OTHERS)]
    if role == Role.CLIENT:
        return [_table(AuditEntry, Q(actor_id=membership_id))]
    return []
