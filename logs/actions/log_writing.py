"""Writing logs: however many there are, by the same few statements.

Items are copied into a temporary table (row-level security refuses COPY into the log's own), what is new is
inserted from there, and what is known already is told from its stored state. Corrections then replace rows
in place, in the statement that keeps what they were.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import uuid_utils
from django.db import connection

from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id
from logs.actions.identity import LogState, corrected
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


def write_logs(*, table: LogTable, source: str, items: Sequence[Item], now: datetime) -> list[Change]:
    """Write items of one kind, in their order, and note on each what became of it.

    Args:
        table: where to.
        source: what the items are filed under.
        items: items with content; their clients are locked by the caller.
        now: when they were received.

    Returns:
        The logs that are new or corrected, each once.
    """
    if not items:
        return []
    repeated = _stage(table, items)
    states = _insert_new(table, source, items, now)
    changes = []
    for item in items:
        if item.id not in states and id(item) not in repeated:
            item.result = "created"
            changes.append(Change(item))
    known = _meet(items, states, repeated)
    _correct(table, corrected(known), now)
    by_id = {state.log_id: state for state in known if state.final is not None}
    new = {change.item.id for change in changes}
    created = [Change(by_id[one.item.id].final or one.item) if one.item.id in by_id else one for one in changes]
    return created + [
        Change(state.final, state.local_date, state.reference)
        for state in by_id.values()
        if state.final is not None and state.log_id not in new
    ]
