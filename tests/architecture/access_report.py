"""The matrix in print: one line for each operation, one column for each credential."""

import csv
import io
from collections.abc import Sequence
from typing import Final

from tests.architecture.access import LEGEND, Cell, Exceptional, faults
from tests.architecture.credentials import Credential

_GAP: Final = 4


def table(cells: Sequence[Cell], exceptions: Sequence[Exceptional], *, called: bool = True) -> str:
    """Return the matrix with its legend and exceptions."""
    columns = _credentials(cells)
    excepted = {operation for exception in exceptions for operation in exception.operations}
    lines = [*LEGEND, "", *(f"{number:>4}  {one.name}" for number, one in enumerate(columns, 1)), ""]
    rows = _rows(cells)
    width = max(map(len, rows)) + 3
    lines.append(" " * width + "".join(f"{number:<{_GAP}}" for number in range(1, len(columns) + 1)).rstrip())
    for operation, row in rows.items():
        mark = "*" if operation in excepted else ""
        shown = "".join(f"{_symbol(cell):<{_GAP}}" for cell in row)
        lines.append(f"{operation + ' ' + mark:<{width}}{shown}".rstrip())
    lines += ["", "Reviewed exceptions:"]
    lines += [f"  {', '.join(sorted(one.operations))}: {one.answer}, since {one.why}." for one in exceptions]
    counted = f"{len(rows)} operations x {len(columns)} credentials = {len(cells)} cells"
    found = f"{len(faults(cells))} differences" if called else "expected only, nothing was called"
    return "\n".join([*lines, "", f"{counted}; {found}."])


def as_csv(cells: Sequence[Cell], *, called: bool = True) -> str:
    """Return one line for each cell."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("operation", "credential", "expected", "seen"))
    for cell in cells:
        writer.writerow((cell.operation, cell.credential.name, str(cell.expected), str(cell.seen) if called else ""))
    return out.getvalue()


def _rows(cells: Sequence[Cell]) -> dict[str, list[Cell]]:
    rows: dict[str, list[Cell]] = {}
    for cell in cells:
        rows.setdefault(cell.operation, []).append(cell)
    return rows


def _credentials(cells: Sequence[Cell]) -> list[Credential]:
    return list({cell.credential.name: cell.credential for cell in cells}.values())


def _symbol(cell: Cell) -> str:
    return f"{cell.expected}!{cell.seen} " if cell.differs else str(cell.expected)
