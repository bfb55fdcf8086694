"""Take a file of past logs, say what it is taken to hold, let that be changed, and forget it."""

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from coaching.actions.row_versions import Versions, bump
from coaching.models import Client
from coaching.policy import Principal, client_rows
from coaching.refusals import Conflict, Fault, Invalid, UnknownObject
from coaching.tenancy.scope import business_scope
from logs.actions.import_findings import columns_of, findings_of
from logs.imports.column_guesses import guessed
from logs.imports.csv_tables import read_csv
from logs.imports.mapping import ColumnMapping, mapping_faults
from logs.imports.tables import Table, TableError, packed, unpacked
from logs.imports.xlsx_tables import read_xlsx
from logs.models.log_imports import KEPT_DAYS, ImportState, LogImport
from logs.selectors.log_imports import (
    get_log_import,
    import_facts,
    importer_of,
    list_importable_clients,
    list_log_imports,
)
from logs.selectors.log_references import find_logged_exercises

SOURCE_PREFIX: Final = "import:"
"""What the source of every imported log begins with."""

DEFAULT_SOURCE: Final = "spreadsheet"
MAX_MAP_ENTRIES: Final = 2_000
_ZIP: Final = b"PK\x03\x04"
_OLD_OFFICE: Final = b"\xd0\xcf\x11\xe0"


_SOURCE: Final = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 ._-]*[A-Za-z0-9])?")


class FileForgotten(Conflict):
    """The file of an import is gone."""

    code = "file_forgotten"


def plain_source(named: str | None) -> str:
    """Return the name of a source, the default one for none.

    Raises:
        Invalid: it holds something else than letters, digits, spaces, points, hyphens and underscores.
    """
    if named is None:
        return DEFAULT_SOURCE
    if not _SOURCE.fullmatch(named):
        raise Invalid.at(
            "?source", "A source is letters, digits, spaces, points, hyphens and underscores.", "invalid_source"
        )
    return named


def create_log_import(
    *, actor: Principal, content: bytes, source: str, client_id: UUID | None, sheet: str | None, now: datetime
) -> LogImport:
    """Read a file and keep its table, with a guess of what the columns hold; no log is written.

    Args:
        actor: who imports it.
        content: the file, CSV or XLSX.
        source: what its logs are filed under, after `import:`.
        client_id: whose the whole file is, None if a column says.
        sheet: of a spreadsheet; None for the first.
        now: the present instant.

    Raises:
        Invalid: the file can't be read as a table; the sentence says what to change, and where.
        UnknownObject: the actor sees no such client.
    """
    if client_id is not None and not Client.objects.filter(client_rows(actor, ""), id=client_id).exists():
        raise UnknownObject.at("?client", "There is no such client that you may see.")
    table = _read_file(content, sheet)
    guess = guessed(table, one_client=client_id is not None)
    facts = import_facts(actor=actor, table=table, mapping=guess.mapping, client_id=client_id)
    return LogImport.objects.create(
        client_id=client_id,
        source=f"{SOURCE_PREFIX}{source}",
        format=table.format,
        told={name: getattr(table, name) for name in ("encoding", "delimiter", "sheet", "sheets", "header_row")},
        content=packed(table),
        row_count=len(table.rows),
        columns=columns_of(guess),
        mapping=guess.mapping.document(),
        findings=findings_of(facts),
        created_by=importer_of(actor),
        created_at=now,
        expires_at=now + timedelta(days=KEPT_DAYS),
    )


def _read_file(content: bytes, sheet: str | None) -> Table:
    if content.startswith(_OLD_OFFICE):
        raise Invalid.at("#", "This is a spreadsheet of the old .xls form; save it as .xlsx.", "old_spreadsheet")
    try:
        if content.startswith(_ZIP):
            return read_xlsx(content, sheet)
        if sheet is not None:
            raise Invalid.at("?sheet", "A CSV file has no sheets; leave sheet out.", "unknown_sheet")
        return read_csv(content)
    except TableError as error:
        raise Invalid.at("?sheet" if error.code == "unknown_sheet" else "#", str(error), error.code) from None


def change_log_import(
    *, actor: Principal, log_import_id: UUID, versions: Versions, changes: Mapping[str, Any]
) -> LogImport:
    """Change how a table is read; what an earlier dry run showed holds no longer.

    Args:
        actor: who changes it.
        log_import_id: which.
        versions: that it may be changed from.
        changes: parts of the mapping; of `columns`, `units` and the maps only the entries given, None to take
            one away.

    Raises:
        NotFound: no such import that the actor sees.
        FileForgotten: its file is gone.
        Invalid: the mapping can't be meant; every fault at its place.
    """
    row = get_log_import(actor=actor, log_import_id=log_import_id)
    bump(list_log_imports(actor=actor), log_import_id, versions)
    table = table_of(row)
    checked = {**changes, **_checked_maps(actor, changes)}
    mapping = ColumnMapping.of(row.mapping).changed(**checked)
    faults = mapping_faults(mapping, len(table.headers))
    if faults:
        raise Invalid(faults[0].detail, faults=[Fault(f"#/{one.place}", one.code, one.detail) for one in faults])
    facts = import_facts(actor=actor, table=table, mapping=mapping, client_id=row.client_id)
    LogImport.objects.filter(id=row.id).update(
        mapping=mapping.document(), findings=findings_of(facts), state=ImportState.MAPPED, result=None
    )
    return get_log_import(actor=actor, log_import_id=log_import_id)


def table_of(row: LogImport) -> Table:
    """Return an import's table.

    Raises:
        FileForgotten: it was forgotten.
    """
    if row.state == ImportState.FORGOTTEN:
        raise FileForgotten("The file of this import was forgotten; upload it again: what is stored stays unchanged.")
    return unpacked(bytes(row.content))


def _checked_maps(actor: Principal, changes: Mapping[str, Any]) -> dict[str, dict[str, str | None]]:
    """See that names are mapped to exercises and clients that are there."""
    exercises, clients = changes.get("exercise_map", {}), changes.get("client_map", {})
    faults = [
        Fault(f"#/{name}", "too_many", f"{name} takes at most {MAX_MAP_ENTRIES:,} names.")
        for name, sent in (("exercise_map", exercises), ("client_map", clients))
        if len(sent) > MAX_MAP_ENTRIES
    ]
    known = find_logged_exercises(texts={key for key in exercises.values() if key is not None}) if not faults else {}
    faults += [
        Fault(
            f"#/exercise_map/{_escaped(name)}", "unknown_object", f"There is no exercise {key[:60]!r}; see /exercises."
        )
        for name, key in exercises.items()
        if key is not None and key not in known and not faults
    ]
    seen = {client.id for client in list_importable_clients(actor=actor)} if clients else set()
    faults += [
        Fault(f"#/client_map/{_escaped(name)}", "unknown_object", "There is no such client that you may see.")
        for name, client_id in clients.items()
        if client_id is not None and client_id not in seen
    ]
    if faults:
        raise UnknownObject(faults[0].detail, faults=faults)
    keys = {name: None if key is None else known[key].key for name, key in exercises.items()}
    return {name: found for name, found in (("exercise_map", keys), ("client_map", dict(clients))) if name in changes}


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")


def forget_log_import(*, actor: Principal, log_import_id: UUID, versions: Versions, now: datetime) -> None:
    """Forget a file and all that quotes from it; the logs that it brought stay.

    Raises:
        NotFound: no such import that the actor sees.
    """
    bump(list_log_imports(actor=actor), log_import_id, versions, **forgotten(now))


def expire_log_imports(business_id: UUID, now: datetime) -> bool:
    """Forget the files whose time is over; never more due."""
    with business_scope(business_id):
        due = LogImport.objects.filter(expires_at__lte=now).exclude(state=ImportState.FORGOTTEN)
        due.update(**forgotten(now))
    return False


def forgotten(now: datetime) -> dict[str, Any]:
    """Return what an import is when its file is gone."""
    return {
        "state": ImportState.FORGOTTEN,
        "content": b"",
        "columns": [],
        "mapping": ColumnMapping().document(),
        "findings": {"exercises": [], "clients": [], "questions": []},
        "result": None,
        "forgotten_at": now,
    }
