"""Logs as they are shown, from rows or from the content of earlier states."""

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, Final

from coaching.http.units import show_load
from coaching.screening.care_groups import care_groups_of, switched_off
from logs.actions.log_fields import Kind

Row = Mapping[str, Any]
Shown = dict[str, Any]

_CARE: Final = ("client__care_groups", "client__birth_date")


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


def show_revisions(kind: Kind, revisions: Iterable[Row], row: Row) -> list[Shown]:
    """Return what corrections of a row replaced, as it was shown then."""
    care = {name: row[name] for name in _CARE if name in row}
    return [
        {
            "row_version": revision["row_version"],
            "revision": revision["revision"],
            "replaced_at": revision["replaced_at"],
            "replaced_by": revision["replaced_by"],
            "content": _CONTENT[kind]({**revision["content"], **care}),
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
    # Somebody who was a minor then is not weighed for others to see later.
    groups = care_groups_of(
        row.get("client__care_groups") or (), birth_date=row.get("client__birth_date"), today=_day(row["local_date"])
    )
    hidden, heart_hidden = switched_off("bodyweight", groups), switched_off("heart_rate", groups)
    load = _load(None if hidden else row["bodyweight"], row["unit"])
    names = ("sleep", "fatigue", "stress", "soreness", "symptoms", "pains", "notes")
    return {
        "local_date": row["local_date"],
        **{name: row[name] for name in names},
        "bodyweight_kg": load["load_kg"],
        "bodyweight_lb": load["load_lb"],
        "bodyweight_entered": load["load_entered"],
        "bodyweight_hidden": hidden,
        **{name: None if heart_hidden else row[name] for name in ("resting_hr_bpm", "hrv_rmssd_ms")},
        "heart_rate_hidden": heart_hidden,
        # Earlier states may be older than these three.
        "form": row.get("form_id"),
        "form_version": row.get("form_version"),
        "answers": row.get("answers") or {},
    }


_CONTENT: Final[Mapping[Kind, Callable[[Row], Shown]]] = {
    "session_log": _session,
    "set_log": _set,
    "check_in": _check_in,
}


def _day(value: Any) -> date:
    # Of an earlier state the date comes from JSON.
    return value if isinstance(value, date) else date.fromisoformat(value)


def _load(value: Any, unit: Any) -> Shown:
    # Of an earlier state, or a part of a set, the number comes from JSON.
    exact = None if value is None else Decimal(str(value))
    return show_load(exact, unit or None)
