"""Imports of past logs, and what their tables come to by the mapping that they have."""

from dataclasses import dataclass
from typing import Any, Final, cast
from uuid import UUID

from django.db.models import Q, QuerySet

from coaching.models import Client, Role
from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound
from logs.imports.mapping import ColumnMapping, missing_columns
from logs.imports.rows import read_rows
from logs.imports.tables import Table
from logs.imports.typed_rows import Question, Row
from logs.imports.written_names import (
    KnownClient,
    WrittenClient,
    WrittenExercise,
    written_clients,
    written_exercises,
)
from logs.models import LogImport
from programs.selectors.written_sessions import list_exercise_names

_ALL_IMPORTS: Final = frozenset({Role.OWNER, Role.HEAD_COACH})
NO_IMPORT: Final = "There is no import with this id that you may see."


@dataclass(frozen=True, slots=True)
class ImportFacts:
    """A table as read by a mapping.

    Attributes:
        rows: every row.
        exercises: what each written exercise means, by folded name.
        clients: who each written client is, by folded name; empty for a file of one client.
        questions: what must be said before anything can be written.
    """

    rows: list[Row]
    exercises: dict[str, WrittenExercise]
    clients: dict[str, WrittenClient]
    questions: tuple[Question, ...]


def importer_of(actor: Principal) -> UUID:
    """Return the membership that an import is kept under; the policy lets no key import."""
    return cast("UUID", actor.membership_id)


def list_log_imports(*, actor: Principal) -> QuerySet[LogImport]:
    """Return the imports that the caller began; an owner and a head coach see everybody's."""
    rows = LogImport.objects.defer("content")
    if actor.role not in _ALL_IMPORTS:
        # A client who was handed over takes their file along.
        rows = rows.filter(Q(client__isnull=True) | client_rows(actor), created_by=importer_of(actor))
    return rows


def get_log_import(*, actor: Principal, log_import_id: UUID) -> LogImport:
    """Return an import without its table.

    Raises:
        NotFound: no such import that the caller may see.
    """
    found = list_log_imports(actor=actor).filter(id=log_import_id).first()
    if found is None:
        raise NotFound(NO_IMPORT)
    return found


def list_importable_clients(*, actor: Principal) -> list[KnownClient]:
    """Return the clients whose logs the caller may write, to match names against."""
    rows: Any = Client.objects.filter(client_rows(actor, "")).order_by("name", "id").values_list("id", "name", "email")
    return [KnownClient(id=str(client_id), name=name, email=email) for client_id, name, email in rows]


def import_facts(*, actor: Principal, table: Table, mapping: ColumnMapping, client_id: UUID | None) -> ImportFacts:
    """Read a table by a mapping, against the business's exercises and the caller's clients, in two queries."""
    read = read_rows(table, mapping)
    exercises = written_exercises(read.rows, list_exercise_names(), mapping.exercise_map)
    clients: dict[str, WrittenClient] = {}
    if client_id is None:
        clients = written_clients(read.rows, list_importable_clients(actor=actor), mapping.client_map)
    missing = tuple(
        Question(name, "missing_column", sentence)
        for name, sentence in missing_columns(mapping, one_client=client_id is not None)
    )
    return ImportFacts(read.rows, exercises, clients, (*missing, *read.questions))
