"""Reading logs: lists and single ones, of clients whom the caller may see; deleted ones are not there."""

from datetime import date
from typing import Any, Final
from uuid import UUID

from django.db.models import QuerySet

from coaching.policy import Principal, client_rows, member_shown
from coaching.refusals import NotFound, UnknownObject
from logs.models import CheckIn, LogRevision, SessionLog, SetLog
from logs.selectors.visible_clients import require_visible_client

Model = type[SessionLog] | type[SetLog] | type[CheckIn]
Row = dict[str, Any]

MODELS: Final[dict[str, Model]] = {"session_log": SessionLog, "set_log": SetLog, "check_in": CheckIn}
_SAME: Final = (
    "id",
    "client_id",
    "source",
    "external_id",
    "revision",
    "row_version",
    "local_date",
    "received_at",
    "symptoms",
    "notes",
)
_CARE: Final = ("client__care_groups", "client__birth_date")
_SHOWN: Final[dict[str, tuple[str, ...]]] = {
    "session_log": (
        *_SAME,
        "planned_session_id",
        "planned_session_named",
        "started_at",
        "finished_at",
        "duration_min",
        "session_rpe",
        "cut_reason",
        "place_id",
        "minutes_confirmed",
    ),
    "set_log": (
        *_SAME,
        "session_log_id",
        "exercise_id",
        "exercise__key",
        "slot_key",
        "set_number",
        "kind",
        "side",
        "reps",
        "duration_s",
        "distance_m",
        "calories_kcal",
        "rounds",
        "segments",
        "load",
        "unit",
        "load_basis",
        "machine",
        "rpe",
        "in_reserve",
        "tempo",
        "tempo_class",
        "phase_s",
        "phase_source",
        "outcome",
        "swapped",
    ),
    "check_in": (
        *_SAME,
        "sleep",
        "fatigue",
        "stress",
        "soreness",
        "pains",
        "bodyweight",
        "unit",
        "resting_hr_bpm",
        "hrv_rmssd_ms",
        "form_id",
        "form_version",
        "answers",
        *_CARE,
    ),
}


def list_logs(
    *,
    actor: Principal,
    kind: str,
    client_id: UUID | None = None,
    session_log_id: UUID | None = None,
    first: date | None = None,
    last: date | None = None,
) -> QuerySet[Any, Row]:
    """Return logs of one kind as they are shown.

    Args:
        actor: who reads.
        kind: `session_log`, `set_log` or `check_in`.
        client_id: of this client only.
        session_log_id: sets of this session only.
        first: from this local date on.
        last: up to this local date.

    Raises:
        UnknownObject: the client or the session filtered by is not one that the caller may see.
    """
    if client_id is not None:
        require_visible_client(actor=actor, client_id=client_id)
    if session_log_id is not None:
        _require_visible_session(actor, session_log_id)
    given = {
        "client_id": client_id,
        "session_log_id": session_log_id,
        "local_date__gte": first,
        "local_date__lte": last,
    }
    rows = visible_logs(actor=actor, kind=kind)
    rows = rows.filter(**{name: value for name, value in given.items() if value is not None})
    return rows.values(*_SHOWN[kind])


def get_log(*, actor: Principal, kind: str, log_id: UUID) -> Row:
    """Return a log as it is shown.

    Raises:
        NotFound: no such log that the caller may see.
    """
    found: Row | None = list_logs(actor=actor, kind=kind).filter(id=log_id).first()
    if found is None:
        raise NotFound("There is no log with this id that you may see; check the path and the id.")
    return found


def get_own_log(*, actor: Principal, kind: str, log_id: UUID) -> Row:
    """Return a log that the caller may change.

    Raises:
        NotFound: no such log.
    """
    found: Row | None = own_logs(actor=actor, kind=kind).filter(id=log_id).values(*_SHOWN[kind]).first()
    if found is None:
        raise NotFound("There is no log with this id that you may change; check the path and the id.")
    return found


def visible_logs(*, actor: Principal, kind: str) -> QuerySet[Any]:
    """Return the logs of one kind that the caller may see."""
    return MODELS[kind].objects.filter(client_rows(actor), deleted_at__isnull=True)


def own_logs(*, actor: Principal, kind: str) -> QuerySet[Any]:
    """Return the logs of one kind that the caller may change: a key or a client only those of their own source."""
    rows = visible_logs(actor=actor, kind=kind)
    return rows.filter(source=actor.source) if actor.source else rows


def _require_visible_session(actor: Principal, session_log_id: UUID) -> None:
    if not visible_logs(actor=actor, kind="session_log").filter(id=session_log_id).exists():
        raise UnknownObject.at("?session_log", "There is no such session log that you may see.")


def visible_log_or_deleted(*, actor: Principal, kind: str, log_id: UUID) -> Row:
    """Return whose a log is and where it stands, also of one that was deleted, of which nothing else is left.

    Raises:
        NotFound: no such log that the caller may see.
    """
    rows = MODELS[kind].objects.filter(client_rows(actor), id=log_id)
    found: Row | None = rows.values("row_version", "received_at", "deleted_at", *_CARE).first()
    if found is None:
        raise NotFound("There is no log with this id that you may see; check the path and the id.")
    return found


def list_revisions(*, actor: Principal, kind: str, log_id: UUID) -> list[Row]:
    """Return what corrections of a log replaced, latest first. The caller has read the log itself before."""
    rows = LogRevision.objects.filter(kind=kind, log_id=log_id).order_by("-row_version")
    found: list[Any] = list(rows.values("row_version", "revision", "content", "replaced_at", "replaced_by"))
    return [{**row, "replaced_by": member_shown(actor, row["replaced_by"])} for row in found]
