"""What a run of an import came to, as it is kept and shown."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from logs.actions.log_fields import KINDS, LISTS, Item
from logs.imports.typed_rows import CellFault, Row

FAULTS_SHOWN: Final = 200
"""Faults that are shown one by one; all are counted."""

Counts = dict[str, dict[str, int]]


def no_counts() -> Counts:
    """Return counts of nothing, by list of a batch."""
    return {LISTS[kind]: {"created": 0, "unchanged": 0, "corrected": 0, "superseded": 0} for kind in KINDS}


def counted(counts: Counts, items: Iterable[Item]) -> None:
    """Count what became of items; `superseded` are those of the unchanged for which something newer is stored."""
    for item in items:
        of_kind = counts[LISTS[item.kind]]
        of_kind[str(item.result)] = of_kind.get(str(item.result), 0) + 1
        of_kind["superseded"] += item.superseded


def shown_result(
    *,
    rows: Sequence[Row],
    letters: Mapping[str, str],
    headers: Mapping[str, str],
    counts: Counts,
    batch_ids: list[str],
    now: datetime,
) -> dict[str, Any]:
    """Return a run's result.

    Args:
        rows: every row, with its faults.
        letters: by field, the letter of its column.
        headers: by letter, the text over the column.
        counts: of what was written, or would be.
        batch_ids: of the log batches that it was written as; none for a dry run.
        now: when it ran.
    """
    faults = [fault for row in rows for fault in row.faults]
    return {
        "ran_at": now.isoformat(),
        "rows": len(rows),
        "faulty_rows": [row.number for row in rows if row.faults],
        **counts,
        "fault_count": len(faults),
        "faults": [_shown(fault, letters, headers) for fault in faults[:FAULTS_SHOWN]],
        "log_batches": batch_ids,
    }


def _shown(fault: CellFault, letters: Mapping[str, str], headers: Mapping[str, str]) -> dict[str, Any]:
    letter = letters.get(fault.field)
    return {
        "row": fault.row,
        "column": headers.get(letter, "") if letter else None,
        "cell": f"{letter}{fault.row}" if letter else None,
        "field": fault.field or None,
        "code": fault.code,
        "detail": fault.detail,
    }
