"""The calendar: sessions planned for clients."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet, TextField
from django.db.models.functions import Cast

from coaching.policy import Principal, client_rows
from coaching.refusals import NotFound, UnknownObject
from programs.models import PlannedSession
from programs.selectors.assignments import visible_assignments
from programs.selectors.visible_clients import get_named_client

_SHOWN = (
    "id",
    "client_id",
    "assignment_id",
    "version_id",
    "assignment__calendar",
    "week_number",
    "day_number",
    "template_key",
    "title",
    "deload",
    "local_date",
    "window_start",
    "window_end",
    "zone",
    "due_at",
    "state",
    "excuse_reason",
    "moved_from",
    "performed_on",
    "cut_reason",
    "planned_work_sets",
    "planned_low_min",
    "planned_high_min",
    "done_work_sets",
    "missed_at",
    "changes",
    "changed_at",
    "changed_by_id",
    "place_id",
    "place__name",
    "place__equipment",
    "row_version",
)


def visible_planned_sessions(actor: Principal) -> QuerySet[PlannedSession]:
    """Return the planned sessions of clients whom the caller may see."""
    return PlannedSession.objects.filter(client_rows(actor))


def list_planned_sessions(
    *,
    actor: Principal,
    client_id: UUID | None = None,
    assignment_id: UUID | None = None,
    first: date | None = None,
    last: date | None = None,
    states: Sequence[str] | None = None,
) -> QuerySet[PlannedSession, dict[str, Any]]:
    """Return sessions as they are shown.

    Raises:
        UnknownObject: no such client or assignment that the caller may see.
    """
    _check_named(actor, client_id, assignment_id)
    rows = visible_planned_sessions(actor)
    given = {
        "client_id": client_id,
        "assignment_id": assignment_id,
        "local_date__gte": first,
        "local_date__lte": last,
        "state__in": list(states) if states else None,
    }
    rows = rows.filter(**{name: value for name, value in given.items() if value is not None})
    return shown(rows)


def get_planned_session(*, actor: Principal, planned_session_id: UUID) -> dict[str, Any]:
    """Return a session as it is shown.

    Raises:
        NotFound: no such session that the caller may see.
    """
    found = shown(visible_planned_sessions(actor).filter(id=planned_session_id)).first()
    if found is None:
        raise NotFound("There is no planned session with this id that you may see.")
    return found


def _check_named(actor: Principal, client_id: UUID | None, assignment_id: UUID | None) -> None:
    if client_id is not None:
        get_named_client(actor=actor, client_id=client_id, pointer="?client")
    if assignment_id is not None and not visible_assignments(actor).filter(id=assignment_id).exists():
        raise UnknownObject.at("?assignment", "There is no assignment with this id that you may see.")


def shown(rows: QuerySet[PlannedSession]) -> QuerySet[PlannedSession, dict[str, Any]]:
    """Return the columns that the API shows; the two documents as the text that the database holds."""
    found: QuerySet[PlannedSession, dict[str, Any]] = rows.values(
        *_SHOWN,
        prescribed_json=Cast("prescribed", TextField()),
        slot_classes_json=Cast("slot_classes", TextField()),
    )
    return found
