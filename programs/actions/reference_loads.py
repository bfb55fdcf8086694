"""Record what a client can lift, and resolve the loads of their sessions to come anew."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Final, cast
from uuid import UUID

import orjson
from django.db import connection

from coaching.measures.load import Load
from coaching.models import Client
from coaching.policy import Principal
from coaching.refusals import Conflict, Invalid, UnknownObject
from coaching.tenancy.scope import current_business_id
from programs.models import PlannedSession, PlannedState, ReferenceLoad, Version
from programs.prescription.calendar import DayKey
from programs.prescription.document import decode_version
from programs.prescription.snapshot import reference_exercises, session_snapshot
from programs.prescription.structure import ExerciseFacts, Session, session_exercises
from programs.prescription.vocabulary import LoadUnit
from programs.selectors.business_calendar import get_business_calendar
from programs.selectors.exercises import exercise_facts, resolve_exercises
from programs.selectors.reference_loads import latest_reference_loads
from programs.selectors.visible_clients import get_visible_client

_REWRITE: Final = (
    "UPDATE programs_plannedsession p SET prescribed = v.prescribed, row_version = p.row_version + 1 "
    "FROM unnest(%s::uuid[], %s::jsonb[]) AS v (id, prescribed) "
    "WHERE p.business_id = %s AND p.id = v.id AND p.prescribed IS DISTINCT FROM v.prescribed"
)


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
    resolve_loads_to_come(client=client, today=today)
    return stored


def resolve_loads_to_come(*, client: Client, today: date) -> None:
    """Write the loads of a client's untouched sessions from today on anew, by their references of now."""
    rows = PlannedSession.objects.filter(
        client_id=client.id,
        local_date__gte=today,
        state__in=[PlannedState.PLANNED, PlannedState.PAUSED, PlannedState.EXCUSED],
    )
    by_version: dict[UUID, list[tuple[UUID, DayKey]]] = defaultdict(list)
    for session_id, version_id, week, day in rows.order_by("id").values_list(
        "id", "version_id", "week_number", "day_number"
    ):
        by_version[version_id].append((session_id, (week, day)))
    sessions = _sessions_by_percent(by_version)
    if not sessions:
        return
    facts = exercise_facts({key for session in sessions.values() for key in session_exercises(session)})
    _rewrite(client, by_version, sessions, facts, today)


def _sessions_by_percent(version_ids: Collection[UUID]) -> dict[tuple[UUID, DayKey], Session]:
    found: dict[tuple[UUID, DayKey], Session] = {}
    for version in Version.objects.filter(id__in=list(version_ids)):
        for week in decode_version(version.content).weeks:
            for day in week.days:
                if reference_exercises(day.session):
                    found[version.id, (week.week_number, day.day_number)] = day.session
    return found


def _rewrite(
    client: Client,
    by_version: Mapping[UUID, Sequence[tuple[UUID, DayKey]]],
    sessions: dict[tuple[UUID, DayKey], Session],
    facts: dict[str, ExerciseFacts],
    today: date,
) -> None:
    known = latest_reference_loads(client_ids=[client.id], exercise_keys=facts, until=today + timedelta(days=1))
    unit = cast("LoadUnit", client.unit)
    ids: list[UUID] = []
    documents: list[str] = []
    for version_id, planned in by_version.items():
        for session_id, key in planned:
            session = sessions.get((version_id, key))
            if session is not None and session_exercises(session) <= facts.keys():
                written = session_snapshot(session, facts, known.get(client.id, {}), unit=unit)
                ids.append(session_id)
                documents.append(orjson.dumps(written.prescribed).decode())
    with connection.cursor() as cursor:
        cursor.execute(_REWRITE, [ids, documents, current_business_id()])
