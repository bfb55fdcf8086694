"""Imported sessions as items of a log batch, and the faults of those items back at the cells that they are from."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time
from decimal import Decimal
from typing import Any, Final

from coaching.measures.local_calendar import local_instant
from logs.actions.item_rules import item_faults
from logs.actions.log_fields import CheckInFields, Item, ItemFields, Kind, SessionFields, SetFields
from logs.imports.sessions import CheckInEntry, Gathered, SessionEntry, SetEntry
from logs.imports.typed_rows import Row
from logs.selectors.log_references import LoggingClient

_FIELDS: Final[Mapping[str, str]] = {
    "local_date": "date",
    "started_at": "date",
    "duration_min": "session_minutes",
    "load_kg": "load",
    "load_lb": "load",
    "load_basis": "load",
    "duration_s": "duration",
    "distance_m": "distance",
    "calories_kcal": "calories",
    "bodyweight_kg": "bodyweight",
    "bodyweight_lb": "bodyweight",
    "external_id": "row_id",
    "": "",
}
_SAME: Final = frozenset(
    {"client", "session_rpe", "exercise", "set_number", "reps", "rounds", "rpe", "in_reserve", "tempo", "machine"}
)
_DELETED: Final = "This log was imported before and deleted since, so it is not made again; leave the row out."


@dataclass(frozen=True, slots=True)
class ImportedItem:
    """An item of a batch, and the rows that it was made of."""

    item: Item
    rows: tuple[Row, ...]

    def tell_rows(self) -> None:
        """Give the item's faults to its rows."""
        for fault in self.item.faults:
            name = fault.field if fault.field in _SAME else _FIELDS.get(fault.field, "")
            for row in self.rows:
                row.fault(name, fault.code, _DELETED if fault.code == "deleted" else fault.detail)


def imported_items(gathered: Gathered, clients: Mapping[str, LoggingClient]) -> Iterator[ImportedItem]:
    """Make items of what was gathered, each session right before its sets."""
    for session in gathered.sessions:
        yield _made("session_log", _session_fields(session, clients.get(session.client_id)), session.rows)
        for entry in session.sets:
            yield _made("set_log", _set_fields(session, entry), [entry.row])
    for check_in in gathered.check_ins:
        yield _made("check_in", _check_in_fields(check_in), [check_in.row])


def _made(kind: Kind, fields: Any, rows: Iterable[Row]) -> ImportedItem:
    return ImportedItem(Item(kind, 0, fields, item_faults(kind, fields)), tuple(rows))


def _of_every_item(external_id: str, client_id: str, notes: str) -> ItemFields:
    return {"external_id": external_id, "client": client_id, "revision": 0, "symptoms": [], "notes": notes}


def _session_fields(session: SessionEntry, client: LoggingClient | None) -> SessionFields:
    values = session.values
    started_at = None if session.started is None or client is None else _instant(session, session.started, client)
    return {
        **_of_every_item(session.external_id, session.client_id, values.get("session_notes", "")),
        "planned_session": None,
        "local_date": session.local_date,
        "started_at": started_at,
        "finished_at": None,
        "duration_min": _float(values.get("session_minutes")),
        "session_rpe": _float(values.get("session_rpe")),
        "cut_reason": "",
        "place": None,
        "minutes_confirmed": False,
    }


def _instant(session: SessionEntry, started: time, client: LoggingClient) -> datetime:
    """Find the instant of a wall time in the zone that the client was in then."""
    about = local_instant(session.local_date, started, client.zones[-1][1])
    return local_instant(session.local_date, started, client.zone_at(about))


def _set_fields(session: SessionEntry, entry: SetEntry) -> SetFields:
    get = entry.row.values.get
    load = get("load")
    value = None if load is None else float(load.value)
    return {
        **_of_every_item(entry.external_id, session.client_id, get("notes", "")),
        "session_external_id": session.external_id,
        "session_log": None,
        "exercise": entry.exercise,
        "slot": "",
        "set_number": entry.set_number,
        "kind": get("kind", "work"),
        "side": get("side", "both"),
        "reps": get("reps"),
        "duration_s": _float(get("duration")),
        "distance_m": _float(get("distance")),
        "calories_kcal": _float(get("calories")),
        "rounds": _float(get("rounds")),
        "segments": None,
        "load_kg": value if load is not None and load.unit == "kg" else None,
        "load_lb": value if load is not None and load.unit == "lb" else None,
        "load_basis": "added" if load is not None and load.added else None,
        "machine": get("machine", ""),
        "rpe": _float(get("rpe")),
        "in_reserve": _float(get("in_reserve")),
        "tempo": get("tempo", ""),
        "phase_s": None,
        "phase_source": "",
        "outcome": "done",
        "swapped": None,
    }


def _check_in_fields(entry: CheckInEntry) -> CheckInFields:
    weight = entry.row.values["bodyweight"]
    return {
        **_of_every_item(entry.external_id, entry.client_id, ""),
        "local_date": entry.local_date,
        "sleep": None,
        "fatigue": None,
        "stress": None,
        "soreness": None,
        "pains": [],
        "bodyweight_kg": float(weight.value) if weight.unit == "kg" else None,
        "bodyweight_lb": float(weight.value) if weight.unit == "lb" else None,
        "resting_hr_bpm": None,
        "hrv_rmssd_ms": None,
        "form": None,
        "form_version": None,
        "answers": {},
    }


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
