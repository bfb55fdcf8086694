"""Writing logs: however many there are, by the same few statements.

Items are copied into a temporary table (row-level security refuses COPY into the log's own), what is new is
inserted from there, and what is known already is told from its stored state. Corrections then replace rows
in place, in the statement that keeps what they were.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

import uuid_utils
from django.db import connection

from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from logs.actions.identity import LogState
from logs.actions.log_content import text_of
from logs.actions.log_fields import Item
from logs.actions.log_tables import LogTable

_STAGED_COLUMNS: Final = (
    "ordinal integer, id uuid, client_id uuid, external_id text, revision integer, content_hash bytea, "
    "local_date date, first boolean"
)
_NOT_CONTENT: Final = (
    "{id,business_id,client_id,source,external_id,revision,row_version,content_hash,received_at,deleted_at,"
    "ordinal,first}"
)
_Identity = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Change:
    """A log that was created or corrected.

    Attributes:
        item: the item whose content it has now.
        was_dated: its local date before a correction; None for a new log.
        referred_to: the session or planned session that it belonged to before a correction.
    """

    item: Item
    was_dated: str | None = None
    referred_to: str | None = None


def write_logs(*, table: LogTable, source: str, sender: UUID, items: Sequence[Item], now: datetime) -> list[Change]:
    """Write items of one kind, in their order, and note on each what became of it.

    Args:
        table: where to.
        source: what the items are filed under.
        sender: who corrects what they correct: a membership, or an API key.
        items: items with content, whose clients the caller has locked.
        now: when they were received.

    Returns:
        The logs that are new or corrected, each once.
    """
    if not items:
        return []
    repeated = _stage(table, items)
    known = _insert_new(table, source, now)
    states: dict[_Identity, LogState] = {}
    created: list[Item] = []
    for item in items:
        row = known.get(item.ordinal)
        if row is None:
            item.result = "created"
            created.append(item)
            if repeated:
                states[item.client_id, item.external_id] = LogState(item.id or "", item.revision, 1, item.digest)
        else:
            _state_of(item, row, states).meet(item)
    corrected = [state for state in states.values() if state.final is not None]
    _correct(table, corrected, sender, now)
    final = {state.log_id: state.final for state in corrected if state.final is not None}
    return [Change(final.get(item.id or "", item)) for item in created] + [
        Change(state.final, state.was_dated, state.referred_to)
        for state in corrected
        if state.final is not None and state.was_dated is not None
    ]


def _stage(table: LogTable, items: Sequence[Item]) -> bool:
    """Copy the items into the temporary table; say whether an identity stands more than once among them."""
    seen: set[_Identity] = set()
    lines = []
    for ordinal, item in enumerate(items):
        identity = (item.client_id, item.external_id)
        first = identity not in seen
        seen.add(identity)
        item.ordinal = ordinal
        item.id = str(uuid_utils.uuid7())
        lines.append(
            f"{ordinal}\t{item.id}\t{item.client_id}\t{text_of(item.external_id)}\t{item.revision}\t"
            f"\\\\x{item.digest}\t{item.local_date}\t{'t' if first else 'f'}\t{item.content}\n"
        )
    columns = "".join(f", {name} {kind}" for name, kind in table.columns)
    with connection.cursor() as cursor:
        # Made once for a connection and emptied by each commit, so that the catalogue does not churn; emptied
        # here too, for requests that share a transaction.
        cursor.execute(
            f"CREATE TEMPORARY TABLE IF NOT EXISTS {table.staged} ({_STAGED_COLUMNS}{columns}) "
            f"ON COMMIT DELETE ROWS; DELETE FROM {table.staged}"
        )
        # Django leaves the errors of a copy as the driver raises them.
        with connection.wrap_database_errors, cursor.copy(f"COPY {table.staged} FROM STDIN") as copy:
            copy.write("".join(lines).encode())
    return len(seen) < len(items)


def _insert_new(table: LogTable, source: str, now: datetime) -> dict[int, tuple[Any, ...]]:
    """Insert what is new; return, by ordinal, the others with the row that they meet (none: a row just made)."""
    content = ", ".join(table.column_names)
    business_id = current_business_id()
    with connection.cursor() as cursor:
        cursor.execute(
            "WITH fresh AS ("
            f" INSERT INTO {table.name} (id, business_id, client_id, source, external_id, revision, row_version,"
            f" content_hash, local_date, received_at, {content})"
            " SELECT id, %(business)s, client_id, %(source)s, external_id, revision, 1,"
            f" content_hash, local_date, %(now)s, {content} FROM {table.staged} WHERE first"
            " ON CONFLICT (business_id, client_id, source, external_id) DO NOTHING RETURNING id),"
            f" others AS MATERIALIZED (SELECT * FROM {table.staged} s"
            "  WHERE NOT EXISTS (SELECT FROM fresh WHERE fresh.id = s.id))"
            "SELECT o.ordinal, l.id, l.revision, l.row_version, encode(l.content_hash, 'hex'),"
            f" l.deleted_at IS NOT NULL, l.local_date, {table.reference},"
            # LIMIT keeps both lookups at one index probe an item, whatever the statistics say: a join or a
            # hashed sub-query may read all that a business ever logged.
            " (SELECT true FROM logs_logrevision r WHERE r.business_id = %(business)s AND r.log_id = l.id"
            "  AND r.revision = o.revision AND r.content_hash = o.content_hash LIMIT 1)"
            f" FROM others o LEFT JOIN LATERAL (SELECT * FROM {table.name} known"
            "  WHERE known.business_id = %(business)s AND known.client_id = o.client_id"
            "  AND known.source = %(source)s AND known.external_id = o.external_id LIMIT 1) AS l ON true",
            {"business": business_id, "source": source, "now": now},
        )
        return {row[0]: row[1:] for row in cursor.fetchall()}


def _state_of(item: Item, row: tuple[Any, ...], states: dict[_Identity, LogState]) -> LogState:
    log_id, revision, row_version, digest, deleted, local_date, reference, was_earlier = row
    identity = (item.client_id, item.external_id)
    state = states.get(identity)
    if state is None:
        referred_to = None if reference is None else str(reference)
        state = LogState(str(log_id), revision, row_version, digest, deleted, local_date.isoformat(), referred_to)
        states[identity] = state
    if was_earlier:
        state.earlier.add((item.revision, item.digest))
    return state


def _correct(table: LogTable, states: Sequence[LogState], sender: UUID, now: datetime) -> None:
    """Replace content in place; what each correction replaced is kept by the same statement."""
    if not states:
        return
    steps = [(state.log_id, item, version) for state in states for item, version in state.replaced]
    content = ", ".join(f"{name} = s.{name}" for name in table.column_names)
    with connection.cursor() as cursor:
        cursor.execute(
            "WITH step AS (SELECT * FROM unnest(%(ids)s::uuid[], %(logs)s::uuid[], %(ordinals)s::int[],"
            "  %(versions)s::int[]) AS t (id, log_id, ordinal, row_version)),"
            " kept AS (INSERT INTO logs_logrevision (id, business_id, client_id, kind, log_id, row_version,"
            "  revision, content_hash, content, replaced_at, replaced_by)"
            "  SELECT step.id, l.business_id, l.client_id, %(kind)s, l.id, step.row_version, l.revision,"
            "   l.content_hash, to_jsonb(l) - %(not_content)s::text[], %(now)s, %(sender)s"
            f"  FROM step JOIN {table.name} l ON l.business_id = %(business)s AND l.id = step.log_id"
            "   WHERE step.ordinal IS NULL"
            "  UNION ALL SELECT step.id, %(business)s, s.client_id, %(kind)s, step.log_id, step.row_version,"
            "   s.revision, s.content_hash, to_jsonb(s) - %(not_content)s::text[], %(now)s, %(sender)s"
            f"  FROM step JOIN {table.staged} s ON s.ordinal = step.ordinal)"
            f"UPDATE {table.name} l SET revision = s.revision, row_version = f.row_version,"
            f" content_hash = s.content_hash, local_date = s.local_date, {content}"
            " FROM unnest(%(final_logs)s::uuid[], %(final_ordinals)s::int[], %(final_versions)s::int[])"
            f"  AS f (log_id, ordinal, row_version) JOIN {table.staged} s ON s.ordinal = f.ordinal"
            " WHERE l.business_id = %(business)s AND l.id = f.log_id",
            {
                "business": current_business_id(),
                "kind": table.kind,
                "now": now,
                "sender": sender,
                "not_content": _NOT_CONTENT,
                "ids": [new_id() for _ in steps],
                "logs": [log_id for log_id, _, _ in steps],
                "ordinals": [None if item is None else item.ordinal for _, item, _ in steps],
                "versions": [version for _, _, version in steps],
                "final_logs": [state.log_id for state in states],
                "final_ordinals": [state.final.ordinal for state in states if state.final is not None],
                "final_versions": [state.row_version for state in states],
            },
        )
