"""Logs as they are shown, from rows or from the content of earlier states."""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Any, Final

from coaching.http.units import show_load
from logs.actions.log_fields import Kind

Row = Mapping[str, Any]
Shown = dict[str, Any]


def show_logs(kind: Kind, rows: Iterable[Row]) -> list[Shown]:
    """Return rows as they are shown."""
    return [show_log(kind, row) for row in rows]


def show_log(kind: Kind, row: Row) -> Shown:
    """Return a row as it is shown."""
    return {
        "id": row["id"],
        "client": row["client_id"],
        "source": row["source"],
        "external_id": row["external_id"],
        "revision": row["revision"],
        "received_at": row["received_at"],
        **_CONTENT[kind](row),
    }


def show_revisions(kind: Kind, revisions: Iterable[Row]) -> list[Shown]:
    """Return what corrections replaced, as it was shown then."""
    return [
        {
            "row_version": revision["row_version"],
            "revision": revision["revision"],
            "replaced_at": revision["replaced_at"],
            "content": _CONTENT[kind](revision["content"]),
        }
        for revision in revisions
    ]


def _session(row: Row) -> Shown:
    return {
        "local_date": row["local_date"],
        "planned_session": row["planned_session_id"],
        "planned_session_named": row["planned_session_named"],
        "started_at": row["started_at"],
        "finished_at": row["finished_at"],
        "duration_min": row["duration_min"],
        "session_rpe": row["session_rpe"],
        "cut_reason": row["cut_reason"],
        # Earlier states may be older than these two.
        "place": row.get("place_id"),
        "minutes_confirmed": row.get("minutes_confirmed", False),
        "symptoms": row["symptoms"],
        "notes": row["notes"],
    }


_SET_AS_IT_IS: Final = (
    "set_number",
    "kind",
    "side",
    "reps",
    "duration_s",
    "distance_m",
    "calories_kcal",
    "rounds",
    "load_basis",
    "machine",
    "rpe",
    "in_reserve",
    "tempo",
    "tempo_class",
    "phase_s",
    "outcome",
    "swapped",
    "symptoms",
    "notes",
)


def _set(row: Row) -> Shown:
    return {
        "local_date": row["local_date"],
        "session_log": row["session_log_id"],
        "exercise": row["exercise_id"],
        "exercise_key": row.get("exercise__key"),
        "slot": row["slot_key"],
        **{name: row[name] for name in _SET_AS_IT_IS},
        **_load(row["load"], row["unit"]),
        "segments": None if row["segments"] is None else [_segment(segment) for segment in row["segments"]],
        "phase_source": row["phase_source"] or None,
    }


def _segment(segment: Row) -> Shown:
    return {
        "reps": segment["reps"],
        **_load(segment.get("load"), segment.get("unit", "")),
        "rest_before_s": segment.get("rest_before_s"),
    }


def _check_in(row: Row) -> Shown:
    load = _load(row["bodyweight"], row["unit"])
    names = ("sleep", "fatigue", "stress", "soreness", "symptoms", "pains", "resting_hr_bpm", "hrv_rmssd_ms", "notes")
    return {
        "local_date": row["local_date"],
        **{name: row[name] for name in names},
        "bodyweight_kg": load["load_kg"],
        "bodyweight_lb": load["load_lb"],
        "bodyweight_entered": load["load_entered"],
    }


_CONTENT: Final[Mapping[Kind, Callable[[Row], Shown]]] = {
    "session_log": _session,
    "set_log": _set,
    "check_in": _check_in,
}


def _load(value: Any, unit: Any) -> Shown:
    # Of an earlier state, or a part of a set, the number comes from JSON.
    exact = None if value is None else Decimal(str(value))
    return show_load(exact, unit or None)
