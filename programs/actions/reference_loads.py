"""Record what a client can lift, and resolve the loads of their sessions to come anew."""

from datetime import date, datetime
from uuid import UUID

from coaching.measures.load import Load
from coaching.models import Client
from coaching.policy import Principal
from coaching.refusals import Conflict, Invalid, UnknownObject
from programs.actions.calendar_rows import LockedSessions
from programs.actions.session_rewrites import rewrite_sessions
from programs.models import PlannedSession, PlannedState, ReferenceLoad
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.exercises import resolve_exercises
from programs.selectors.visible_clients import get_visible_client


class SameDayReference(Conflict):
    """One reference of a kind, exercise and day."""

    code = "reference_exists"


def record_reference_load(
    *,
    actor: Principal,
    client_id: UUID,
    exercise: str,
    kind: str,
    load: Load,
    on_date: date,
    source: str = "",
    now: datetime,
) -> ReferenceLoad:
    """Record a reference load; sessions that are still to come take their percentages of it.

    Args:
        actor: who records it.
        client_id: whose it is, as named in the path.
        exercise: id or key.
        kind: `tested`, `estimated`, `training_max` or `working`.
        load: as entered.
        on_date: the local date from which it holds.
        source: where it comes from, in words.
        now: decides what lies in the future.

    Raises:
        NotFound: no such client that the actor may see.
        UnknownObject: no such exercise.
        Invalid: the date lies in the client's future, or the load is not above zero.
        SameDayReference: one of this kind is recorded for that day.
    """
    client = get_visible_client(actor=actor, client_id=client_id)
    today = get_business_calendar().today(now, client.time_zone)
    if on_date > today:
        raise Invalid.at("#/on_date", f"{on_date} lies in the client's future; choose today, {today}, or earlier.")
    if load.value <= 0:
        raise Invalid.at(f"#/load_{load.unit}", "A reference load is above zero.")
    exercise_id = resolve_exercises([exercise]).get(exercise)
    if exercise_id is None:
        raise UnknownObject.at("#/exercise", f"There is no exercise {exercise!r}; GET /api/v1/exercises lists them.")
    stored, created = ReferenceLoad.objects.get_or_create(
        client_id=client_id,
        exercise_id=exercise_id,
        kind=kind,
        on_date=on_date,
        defaults={"load": load.value, "unit": load.unit, "load_kg": load.kg, "source": source},
    )
    if not created:
        raise SameDayReference(f"A {kind} load of this exercise is recorded for {on_date} already; give another date.")
    resolve_loads_to_come(client=client, today=today, now=now)
    return stored


def resolve_loads_to_come(*, client: Client, today: date, now: datetime) -> None:
    """Write the loads of a client's untouched sessions from today on anew, by their references of now."""
    rows = PlannedSession.objects.filter(
        client_id=client.id,
        local_date__gte=today,
        state__in=[PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED],
    )
    rewrite_sessions(LockedSessions(rows).rows, now=now)
