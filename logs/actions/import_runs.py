"""Run an import: the same writing whether it is kept (a commit) or taken back (a dry run)."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction
from django.db.models import F

from coaching.policy import Principal
from coaching.refusals import Conflict, NotFound
from logs.actions.batch_records import record_log_batch
from logs.actions.import_findings import findings_of, refuse_unknown_names
from logs.actions.import_items import ImportedItem, imported_items
from logs.actions.import_results import Counts, counted, no_counts, shown_result
from logs.actions.log_fields import KINDS, Item, Kind
from logs.actions.log_imports import table_of
from logs.imports.constants import MAX_ROWS
from logs.imports.mapping import ColumnMapping
from logs.imports.sessions import Gathered, SessionEntry, gathered
from logs.imports.typed_rows import Question, Row
from logs.models.log_imports import ImportState, LogImport
from logs.selectors.log_imports import NO_IMPORT, ImportFacts, get_log_import, import_facts, list_log_imports
from logs.selectors.log_references import lock_logging_clients

ITEMS_A_BATCH: Final = 5_000
"""Items that are written together, as in a log batch."""


class NotChecked(Conflict):
    """A mapping that no dry run has shown the outcome of."""

    code = "not_checked"


class QuestionsOpen(Conflict):
    """A mapping that leaves open how rows are meant."""

    code = "questions_open"


class FaultyRows(Conflict):
    """A table with faults that the caller has not said to leave out."""

    code = "faulty_rows"


@dataclass(slots=True)
class _Written:
    counts: Counts = field(default_factory=no_counts)
    batch_ids: list[str] = field(default_factory=list)
    refused: bool = False


def check_log_import(*, actor: Principal, log_import_id: UUID, now: datetime) -> LogImport:
    """Do a dry run: write everything, note what became of it and every fault, and take it all back.

    Raises:
        NotFound: no such import that the actor sees.
        FileForgotten: its file is gone.
    """
    row = _locked(actor, log_import_id)
    facts = _facts(actor, row)
    written = _Written()
    if not facts.questions:
        written = _write_good_rows(actor, row, facts, now, keep=False)
    return _noted(actor, row, facts, written, now, state=ImportState.CHECKED)


def commit_log_import(*, actor: Principal, log_import_id: UUID, skip_faulty_rows: bool, now: datetime) -> LogImport:
    """Write what the dry run of this mapping showed, all of it or nothing.

    Args:
        actor: who imports; clients whom they don't see are unknown.
        log_import_id: which.
        skip_faulty_rows: leave rows with faults out, and note which they were.
        now: the present instant.

    Raises:
        NotFound: no such import that the actor sees.
        FileForgotten: its file is gone.
        NotChecked: the mapping changed since the last dry run, or there was none.
        QuestionsOpen: the mapping leaves something open.
        FaultyRows: rows have faults, and were not to be skipped.
    """
    row = _locked(actor, log_import_id)
    facts = _facts(actor, row)
    if row.state == ImportState.MAPPED:
        raise NotChecked("No dry run has shown yet what this mapping does; POST to its dry-run first.")
    if facts.questions:
        raise QuestionsOpen(f"Something is open yet: {facts.questions[0].detail}")
    _refuse_faulty(facts.rows, skip_faulty_rows=skip_faulty_rows)
    written = _write_good_rows(actor, row, facts, now, keep=True, stop_at_faults=not skip_faulty_rows)
    _refuse_faulty(facts.rows, skip_faulty_rows=skip_faulty_rows)
    return _noted(actor, row, facts, written, now, state=ImportState.COMMITTED)


def _locked(actor: Principal, log_import_id: UUID) -> LogImport:
    """Take an import for this transaction: two runs of one go one after the other."""
    row = list_log_imports(actor=actor).defer(None).select_for_update(of=("self",)).filter(id=log_import_id).first()
    if row is None:
        raise NotFound(NO_IMPORT)
    return row


def _facts(actor: Principal, row: LogImport) -> ImportFacts:
    """Read the table, with the faults that its names and its contradictions are."""
    mapping = ColumnMapping.of(row.mapping)
    facts = import_facts(actor=actor, table=table_of(row), mapping=mapping, client_id=row.client_id)
    for one in facts.rows:
        refuse_unknown_names(one, facts)
    sets = sum(one.values.get("set_count", 1) for one in facts.rows if one.has_set)
    if sets > MAX_ROWS:
        told = f"The rows stand for {sets:,} sets, and an import has at most {MAX_ROWS:,}; import the file in parts."
        return replace(facts, questions=(*facts.questions, Question("set_count", "too_many_sets", told)))
    return facts


def _write_good_rows(
    actor: Principal, row: LogImport, facts: ImportFacts, now: datetime, *, keep: bool, stop_at_faults: bool = False
) -> _Written:
    """Write the rows without faults; those that the intake refuses are found by trying, then left out."""
    mapping = ColumnMapping.of(row.mapping)
    found = gathered(
        facts.rows,
        exercises=facts.exercises,
        clients=(
            str(row.client_id)
            if row.client_id is not None
            else {fold: one.client_id for fold, one in facts.clients.items() if one.client_id is not None}
        ),
        sessions_by=mapping.sessions_by,
    )
    while not (stop_at_faults and any(one.faults for one in facts.rows)):
        written = _attempt(actor, row.source, found, now, keep=keep)
        if not written.refused:
            return written
        # Each round leaves out at least one row more, so that it ends.
        found = _without_faulty(found)
    return _Written()


def _attempt(actor: Principal, source: str, found: Gathered, now: datetime, *, keep: bool) -> _Written:
    with transaction.atomic():
        written = _write(actor, source, found, now)
        if written.refused or not keep:
            transaction.set_rollback(True)
    return written


def _write(actor: Principal, source: str, found: Gathered, now: datetime) -> _Written:
    # All clients at once and first: batches that lock one after another could wait for each other.
    ids = {session.client_id for session in found.sessions} | {one.client_id for one in found.check_ins}
    clients, _days = lock_logging_clients(actor=actor, texts=ids)
    written = _Written()
    for made in _batches(imported_items(found, clients)):
        batch = record_log_batch(actor=actor, source=source, items=_by_kind(made), strict=True, now=now)
        if batch.id is None:
            written.refused = True
            for one in made:
                one.tell_rows()
        else:
            written.batch_ids.append(str(batch.id))
            counted(written.counts, batch.items)
    return written


def _batches(made: Iterator[ImportedItem]) -> Iterator[list[ImportedItem]]:
    waiting: list[ImportedItem] = []
    for one in made:
        waiting.append(one)
        if len(waiting) == ITEMS_A_BATCH:
            yield waiting
            waiting = []
    if waiting:
        yield waiting


def _by_kind(made: Sequence[ImportedItem]) -> dict[Kind, list[Item]]:
    by_kind: dict[Kind, list[Item]] = {kind: [] for kind in KINDS}
    for one in made:
        one.item.index = len(by_kind[one.item.kind])
        by_kind[one.item.kind].append(one.item)
    return by_kind


def _without_faulty(found: Gathered) -> Gathered:
    sessions = [
        SessionEntry(
            one.client_id,
            one.local_date,
            one.external_id,
            rows=[row for row in one.rows if not row.faults],
            sets=[entry for entry in one.sets if not entry.row.faults],
            values=one.values,
            started=one.started,
        )
        for one in found.sessions
    ]
    return Gathered([one for one in sessions if one.rows], [one for one in found.check_ins if not one.row.faults])


def _refuse_faulty(rows: Sequence[Row], *, skip_faulty_rows: bool) -> None:
    faulty = [row for row in rows if row.faults]
    if faulty and not skip_faulty_rows:
        first = faulty[0].faults[0]
        raise FaultyRows(
            f"{len(faulty)} of {len(rows)} rows have faults, so nothing was written; the first, in row {first.row}: "
            f"{first.detail} Mend them and upload anew, change the mapping, or send skip_faulty_rows: true."
        )


def _noted(
    actor: Principal, row: LogImport, facts: ImportFacts, written: _Written, now: datetime, *, state: ImportState
) -> LogImport:
    result = shown_result(
        rows=facts.rows,
        letters=ColumnMapping.of(row.mapping).letters,
        headers={one["letter"]: one["header"] for one in row.columns},
        counts=written.counts,
        batch_ids=written.batch_ids if state == ImportState.COMMITTED else [],
        now=now,
    )
    committed = {"committed_at": now} if state == ImportState.COMMITTED else {}
    LogImport.objects.filter(id=row.id).update(
        state=state, result=result, findings=findings_of(facts), row_version=F("row_version") + 1, **committed
    )
    return get_log_import(actor=actor, log_import_id=row.id)
