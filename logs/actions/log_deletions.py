"""Deleting a log: its identity stays, so that a late repost is told from a new log; its content goes, and its past."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import F

from coaching.actions.row_versions import Versions, bump
from coaching.policy import Principal
from logs.actions.log_batches import settle_changes
from logs.actions.log_fields import Item, Kind
from logs.actions.log_writing import Change
from logs.actions.performances import planned_sessions_of
from logs.models import LogRevision, SetLog
from logs.selectors.log_references import get_business_days, lock_logging_clients
from logs.selectors.logs_by_kind import get_own_log, own_logs

_LOG: Final[dict[str, Any]] = {"symptoms": [], "notes": "", "content_hash": b""}
_EMPTY: Final[dict[Kind, dict[str, Any]]] = {
    "session_log": {
        **_LOG,
        "planned_session": None,
        "planned_session_named": False,
        "started_at": None,
        "finished_at": None,
        "duration_min": None,
        "session_rpe": None,
        "cut_reason": "",
        "place_id": None,
        "minutes_confirmed": False,
    },
    # The exercise and the session stay: their columns admit no null, and they say nothing that was done.
    "set_log": {
        **_LOG,
        "slot_key": "",
        "set_number": 0,
        "kind": "work",
        "side": "both",
        "reps": None,
        "duration_s": None,
        "distance_m": None,
        "calories_kcal": None,
        "rounds": None,
        "segments": None,
        "load": None,
        "unit": "",
        "load_kg": None,
        "machine": "",
        "rpe": None,
        "in_reserve": None,
        "tempo": "",
        "tempo_class": "",
        "phase_s": None,
        "phase_source": "",
        "outcome": "skipped",
        "swapped": None,
    },
    "check_in": {
        **_LOG,
        "sleep": None,
        "fatigue": None,
        "stress": None,
        "soreness": None,
        "pains": [],
        "bodyweight": None,
        "unit": "",
        "bodyweight_kg": None,
        "resting_hr_bpm": None,
        "hrv_rmssd_ms": None,
        "form": None,
        "form_version": None,
        "answers": {},
    },
}


def delete_log(*, actor: Principal, kind: Kind, log_id: UUID, versions: Versions, now: datetime) -> None:
    """Empty a log, and with a session its sets.

    Args:
        actor: who deletes it.
        kind: which table it is in.
        log_id: which log.
        versions: what `If-Match` admits.
        now: when.

    Raises:
        NotFound: no such log that the caller may see.
        PreconditionFailed: it is at another version by now.
    """
    row = get_own_log(actor=actor, kind=kind, log_id=log_id)
    lock_logging_clients(actor=actor, texts=[str(row["client_id"])])
    planned = _planned_sessions(kind, row)
    bump(own_logs(actor=actor, kind=kind), log_id, versions, deleted_at=now, **_EMPTY[kind])
    emptied = [log_id]
    if kind == "session_log":
        emptied += _empty_sets(log_id, now)
    LogRevision.objects.filter(log_id__in=emptied).delete()
    gone = [_gone(kind, row)]
    settle_changes(
        days=get_business_days(),
        sessions=gone if kind == "session_log" else (),
        sets=gone if kind == "set_log" else (),
        check_ins=gone if kind == "check_in" else (),
        planned=planned,
        now=now,
    )


def _planned_sessions(kind: Kind, row: dict[str, Any]) -> set[str]:
    if kind == "check_in":
        return set()
    return planned_sessions_of(session_log_ids=[str(row["id"] if kind == "session_log" else row["session_log_id"])])


def _empty_sets(session_log_id: UUID, now: datetime) -> Sequence[UUID]:
    sets = SetLog.objects.filter(session_log_id=session_log_id, deleted_at__isnull=True)
    ids = list(sets.values_list("id", flat=True))
    sets.update(deleted_at=now, row_version=F("row_version") + 1, **_EMPTY["set_log"])
    return ids


def _gone(kind: Kind, row: dict[str, Any]) -> Change:
    item = Item(kind, None, {"external_id": row["external_id"], "revision": row["revision"]})
    item.id, item.client_id = str(row["id"]), str(row["client_id"])
    item.local_date = row["local_date"].isoformat()
    return Change(item)
