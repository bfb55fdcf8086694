"""Record when a client is away, and what becomes of the sessions planned inside it."""

from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID

from coaching import registry
from coaching.actions.row_versions import Versions, bump
from coaching.actions.stale_weeks import mark_stale
from coaching.models import Absence, AbsenceTreatment, Place
from coaching.policy import Principal
from coaching.refusals import Invalid, UnknownObject
from programs.actions.calendar_rows import LockedSessions, announce, lock_clients
from programs.actions.excusing import excuse_absent
from programs.actions.sequences import lay_sequences
from programs.actions.travel_places import plan_places
from programs.actions.version_in_force import take_version_in_force
from programs.models import CalendarKind, PlannedSession, PlannedState
from programs.selectors.absences import visible_absences
from programs.selectors.business_calendar import BusinessCalendar, get_business_calendar
from programs.selectors.visible_clients import get_named_client

LONGEST_DAYS: Final = 366
"""An absence is at most this long: a longer one is a client who pauses or leaves. Practice."""


def record_absence(
    *,
    actor: Principal,
    client_id: UUID,
    starts_on: date,
    ends_on: date,
    kind: str,
    treatment: str = AbsenceTreatment.PAUSE,
    place_id: UUID | None = None,
    note: str = "",
    now: datetime,
) -> Absence:
    """Record days away. With treatment `pause` the sessions that they take away are excused.

    With treatment `travel_kit` and a place, the sessions inside keep their days and are planned for that place.

    Raises:
        UnknownObject: no such client that the actor may see, or the client has no such place.
        Invalid: the days are out of order or too many.
    """
    _check_days(starts_on, ends_on)
    get_named_client(actor=actor, client_id=client_id, pointer="#/client")
    _check_place(client_id, place_id, treatment)
    absence = Absence.objects.create(
        client_id=client_id,
        starts_on=starts_on,
        ends_on=ends_on,
        kind=kind,
        treatment=treatment,
        place_id=place_id,
        note=note,
    )
    _follow(absence, without=None, now=now)
    if absence.place_id is not None:
        plan_places([client_id], now=now)
    return absence


def remove_absence(*, actor: Principal, absence_id: UUID, versions: Versions, now: datetime) -> None:
    """Remove an absence: the sessions that it took away are planned again; past ones are then found missed.

    Raises:
        NotFound: no such absence that the actor may see.
        PreconditionFailed: it was changed since.
    """
    rows = visible_absences(actor)
    bump(rows, absence_id, versions)
    absence = rows.get(id=absence_id)
    _follow(absence, without=absence_id, now=now)
    absence.delete()
    if absence.place_id is not None:
        plan_places([absence.client_id], now=now)


def _check_days(starts_on: date, ends_on: date) -> None:
    if ends_on < starts_on:
        raise Invalid.at("#/ends_on", f"The last day, {ends_on}, is before the first, {starts_on}; swap them.")
    if (ends_on - starts_on).days >= LONGEST_DAYS:
        raise Invalid.at(
            "#/ends_on", f"An absence is at most {LONGEST_DAYS} days; set the client's state to paused instead."
        )


def _check_place(client_id: UUID, place_id: UUID | None, treatment: str) -> None:
    if place_id is None:
        return
    if treatment != AbsenceTreatment.TRAVEL_KIT:
        raise Invalid.at(
            "#/place", "Sessions are planned for a place with treatment travel_kit; leave it out, or set it."
        )
    if not Place.objects.filter(client_id=client_id, id=place_id).exists():
        raise UnknownObject.at("#/place", "The client has no place with this id.")


def _follow(absence: Absence, *, without: UUID | None, now: datetime) -> None:
    calendar = get_business_calendar()
    lock_clients([absence.client_id])
    sessions = LockedSessions(
        PlannedSession.objects.filter(
            client_id=absence.client_id,
            window_start__lte=absence.ends_on,
            window_end__gte=absence.starts_on,
        ).exclude(assignment__calendar=CalendarKind.IN_SEQUENCE)
    )
    excuse_absent(sessions.rows, client_id=absence.client_id, without=without)
    changed = sessions.store(calendar=calendar, now=now)
    take_version_in_force(changed, now=now)
    # A sequence has no day to excuse: days away only do not count towards late.
    changed += lay_sequences(assignment_ids=_sequences(absence.client_id), calendar=calendar, now=now)
    announce(changed, now)
    mark_stale(weeks=_weeks(absence, calendar, now), now=now)
    for absence_changed in registry.on_absence_changed:
        absence_changed(absence.client_id, now)


def _sequences(client_id: UUID) -> set[UUID]:
    return set(
        PlannedSession.objects.filter(
            client_id=client_id,
            assignment__calendar=CalendarKind.IN_SEQUENCE,
            state__in=[PlannedState.PLANNED, PlannedState.MISSED, PlannedState.PAUSED],
        ).values_list("assignment_id", flat=True)
    )


def _weeks(absence: Absence, calendar: BusinessCalendar, now: datetime) -> set[tuple[UUID, date]]:
    # Weeks to come are stale only where a session in them changed, and that is marked already.
    last = min(absence.ends_on, now.date() + timedelta(days=1))
    days = range(absence.starts_on.toordinal(), last.toordinal() + 1)
    return {(absence.client_id, calendar.week_of(date.fromordinal(number))) for number in days}
