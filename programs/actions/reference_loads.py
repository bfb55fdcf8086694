"""Record what a client can lift, and resolve the loads of their sessions to come anew."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from coaching.actions.row_versions import Versions, bump
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
    tempo_factors: Mapping[str, Decimal | None] | None = None,
    now: datetime,
) -> ReferenceLoad:
    """Record a reference load; sessions that are still to come take their percentages of it.

    Without factors for slow and paused tempos it has those of the client's last one of this kind and exercise: a new
    maximum takes nothing away that the coach has set.

    Args:
        actor: who records it.
        client_id: whose it is, as named in the path.
        exercise: id or key.
        kind: `tested`, `estimated`, `training_max` or `working`.
        load: as entered.
        on_date: the local date from which it holds.
        source: where it comes from, in words.
        tempo_factors: what it is taken times at slow and paused tempos, by tempo class; None as the last one has.
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
        defaults={
            "load": load.value,
            "unit": load.unit,
            "load_kg": load.kg,
            "source": source,
            "tempo_factors": lambda: (
                _last_factors(client_id, exercise_id, kind, on_date)
                if tempo_factors is None
                else _changed_factors({}, tempo_factors)
            ),
        },
    )
    if not created:
        raise SameDayReference(f"A {kind} load of this exercise is recorded for {on_date} already; give another date.")
    resolve_loads_to_come(client=client, today=today, now=now)
    return stored


def change_tempo_factors(
    *,
    actor: Principal,
    client_id: UUID,
    reference_load_id: UUID,
    versions: Versions,
    tempo_factors: Mapping[str, Decimal | None],
    now: datetime,
) -> None:
    """Set what a reference load is taken times at slow and paused tempos; sessions to come are resolved by it.

    Args:
        actor: who changes it.
        client_id: whose it is, as named in the path.
        reference_load_id: which one.
        versions: the row versions that it may have.
        tempo_factors: by tempo class; None takes one back, and a class that is not named stays as it is.
        now: decides what lies in the future.

    Raises:
        NotFound: no such client that the actor may see, or no such reference load of theirs.
        PreconditionFailed: it was changed since the version named.
    """
    client = get_visible_client(actor=actor, client_id=client_id)
    rows = ReferenceLoad.objects.filter(client_id=client.id)
    before = rows.select_for_update(no_key=True).filter(id=reference_load_id).values_list("tempo_factors", flat=True)
    changed = _changed_factors(before.first() or {}, tempo_factors)
    bump(rows, reference_load_id, versions, tempo_factors=changed)
    resolve_loads_to_come(client=client, today=get_business_calendar().today(now, client.time_zone), now=now)


def _changed_factors(before: Mapping[str, str], changes: Mapping[str, Decimal | None]) -> dict[str, str]:
    texts = {name: None if factor is None else f"{factor.normalize():f}" for name, factor in changes.items()}
    return {name: factor for name, factor in {**before, **texts}.items() if factor is not None}


def _last_factors(client_id: UUID, exercise_id: UUID, kind: str, on_date: date) -> dict[str, str]:
    rows = ReferenceLoad.objects.filter(
        client_id=client_id, exercise_id=exercise_id, kind=kind, on_date__lt=on_date
    ).order_by("-on_date", "-id")
    found: dict[str, str] | None = rows.values_list("tempo_factors", flat=True).first()
    return found or {}


def resolve_loads_to_come(*, client: Client, today: date, now: datetime) -> None:
    """Write the loads of a client's untouched sessions from today on anew, by their references of now."""
    rows = PlannedSession.objects.filter(
        client_id=client.id,
        local_date__gte=today,
        state__in=[PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED],
    )
    rewrite_sessions(LockedSessions(rows).rows, now=now)
