"""Plan sessions for the place that a client travels to: the days stay, the place's equipment and stations count."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

from coaching.measures.local_calendar import DateSpan
from coaching.models import Absence, AbsenceTreatment
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import CalendarKind, PlannedSession, PlannedState

OPEN: Final = (PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED)
"""The states of sessions that nothing was logged for and nothing was missed of."""


def follow_places(client_id: UUID, now: datetime) -> None:
    """Plan a client's sessions anew for the places that they are planned for, or travel to."""
    plan_places([client_id], now=now, anew=True)


def plan_places(client_ids: Sequence[UUID], *, now: datetime, anew: bool = False) -> None:
    """Plan clients' open sessions for the places where they are then; in a constant number of statements.

    A session on a fixed day, or moved to one, is done where the client is on it; another one at the travel place
    where all of its days are spent there.

    Args:
        client_ids: whose.
        now: the present instant.
        anew: also write those out anew whose place stays, since the place itself changed.
    """
    travels = _travels(client_ids)
    rows = PlannedSession.objects.filter(client_id__in=client_ids, state__in=OPEN)
    if not travels:
        rows = rows.filter(place__isnull=False)
    locked = rows.select_related("assignment", "client").defer(
        "prescribed", "slot_classes", "set_slots", "set_figures", "set_loads_kg"
    )
    settle_places(
        list(locked.order_by("id").select_for_update(of=("self",), no_key=True)), travels=travels, now=now, anew=anew
    )


def settle_places(
    rows: Sequence[PlannedSession],
    *,
    now: datetime,
    travels: Mapping[UUID, Sequence[Absence]] | None = None,
    anew: bool = False,
) -> None:
    """Plan these locked sessions for the places where their clients are then.

    Args:
        rows: sessions with their `assignment` and `client`; those that are not open stay as they are.
        now: the present instant.
        travels: absences with a place, by client; read if None.
        anew: also write those out anew whose place stays.
    """
    open_rows = [row for row in rows if row.state in OPEN]
    if not open_rows:
        return
    known = _travels({row.client_id for row in open_rows}) if travels is None else travels
    rewritten: list[PlannedSession] = []
    for row in open_rows:
        place_id = _place_of(row, known.get(row.client_id, ()))
        if place_id != row.place_id or (anew and place_id is not None):
            row.place_id = place_id
            rewritten.append(row)
    rewrite_sessions(rewritten, now=now)


def _travels(client_ids: Sequence[UUID] | set[UUID]) -> dict[UUID, list[Absence]]:
    found: dict[UUID, list[Absence]] = defaultdict(list)
    rows = Absence.objects.filter(
        client_id__in=list(client_ids), treatment=AbsenceTreatment.TRAVEL_KIT, place__isnull=False
    )
    for row in rows.order_by("starts_on", "id"):
        found[row.client_id].append(row)
    return found


def _place_of(row: PlannedSession, travels: Sequence[Absence]) -> UUID | None:
    on_a_day = row.assignment.calendar == CalendarKind.FIXED_DAYS or row.moved_from is not None
    first, last = (row.local_date, row.local_date) if on_a_day else (row.window_start, row.window_end)
    return next(
        (
            absence.place_id
            for absence in travels
            if first in DateSpan(absence.starts_on, absence.ends_on)
            and last in DateSpan(absence.starts_on, absence.ends_on)
        ),
        None,
    )
