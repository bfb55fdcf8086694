"""A correction of a stored log: what it was, as it would be sent, with the changes laid over it."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from coaching.refusals import Fault, Invalid
from logs.actions.log_fields import Kind

Row = Mapping[str, Any]
Sent = dict[str, Any]

_FIXED: Final = ("external_id", "client", "revision", "source")
# Giving one of these takes the others back: they say the same thing in another way.
_EITHER: Final = (
    ("load_kg", "load_lb"),
    ("rpe", "in_reserve"),
    ("bodyweight_kg", "bodyweight_lb"),
    ("session_external_id", "session_log"),
)


def corrected(kind: Kind, row: Row, changes: Mapping[str, Any]) -> Sent | None:
    """Return a stored log as it would be sent, with changes; None where they change nothing.

    Raises:
        Invalid: a change would give it another identity.
    """
    faults = [
        Fault(f"#/{name}", "fixed", f"{name} is part of what this log is; delete it and send another instead.")
        for name in _FIXED
        if name in changes
    ]
    if faults:
        raise Invalid(faults[0].detail, faults=faults)
    sent = {
        "external_id": row["external_id"],
        "client": str(row["client_id"]),
        "revision": row["revision"],
        "symptoms": list(row["symptoms"]),
        "notes": row["notes"],
        **_CONTENT[kind](row),
    }
    changed = {**_without_rivals(sent, changes), **changes}
    if kind == "session_log" and "started_at" in changes and "local_date" not in changes:
        changed["local_date"] = None
    return None if changed == sent else changed


def _without_rivals(sent: Sent, changes: Mapping[str, Any]) -> Sent:
    dropped = {
        rival
        for names in _EITHER
        for name in names
        if changes.get(name) is not None
        for rival in names
        if rival != name
    }
    return {name: value for name, value in sent.items() if name not in dropped}


def _session(row: Row) -> Sent:
    return {
        "planned_session": str(row["planned_session_id"]) if row["planned_session_named"] else None,
        "local_date": row["local_date"].isoformat(),
        "started_at": _instant(row["started_at"]),
        "finished_at": _instant(row["finished_at"]),
        "duration_min": _number(row["duration_min"]),
        "session_rpe": _number(row["session_rpe"]),
        "cut_reason": row["cut_reason"],
        "place": None if row["place_id"] is None else str(row["place_id"]),
        "minutes_confirmed": row["minutes_confirmed"],
    }


_NUMBERS: Final = ("duration_s", "distance_m", "calories_kcal", "rounds", "rpe", "in_reserve")
_AS_THEY_ARE: Final = ("set_number", "kind", "side", "reps", "load_basis", "machine", "tempo", "phase_s", "outcome")


def _set(row: Row) -> Sent:
    return {
        "session_log": str(row["session_log_id"]),
        "exercise": str(row["exercise_id"]),
        "slot": row["slot_key"],
        **{name: row[name] for name in _AS_THEY_ARE},
        **{name: _number(row[name]) for name in _NUMBERS},
        **_load("load", row["load"], row["unit"]),
        "segments": None if row["segments"] is None else [_segment(segment) for segment in row["segments"]],
        "phase_source": row["phase_source"] or None,
        "swapped": row["swapped"],
    }


def _segment(segment: Row) -> Sent:
    rest = {"rest_before_s": segment["rest_before_s"]} if "rest_before_s" in segment else {}
    return {"reps": segment["reps"], **_load("load", segment.get("load"), segment.get("unit", "")), **rest}


def _check_in(row: Row) -> Sent:
    return {
        "local_date": row["local_date"].isoformat(),
        **{name: row[name] for name in ("sleep", "fatigue", "stress", "soreness", "pains", "resting_hr_bpm")},
        **_load("bodyweight", row["bodyweight"], row["unit"]),
        "hrv_rmssd_ms": _number(row["hrv_rmssd_ms"]),
        "form": None if row["form_id"] is None else str(row["form_id"]),
        "form_version": row["form_version"],
        "answers": dict(row["answers"]),
    }


_CONTENT: Final[Mapping[Kind, Callable[[Row], Sent]]] = {
    "session_log": _session,
    "set_log": _set,
    "check_in": _check_in,
}


def _load(name: str, value: Any, unit: str) -> Sent:
    return {} if value is None else {f"{name}_{unit}": float(value)}


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def _instant(value: Any) -> str | None:
    return None if value is None else value.isoformat()
