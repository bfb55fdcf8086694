"""Rows to what load advice is made from; a fixed number of queries whatever the number of clients and slots."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Final, cast
from uuid import UUID

from django.db import connection

from coaching.measures.load import kg_to_lb
from coaching.models import Absence, AbsenceKind
from coaching.tenancy.scope import current_business_id
from logs.analysis.constants import BODYWEIGHT_KNOWN_DAYS, RPE_AT_NO_RESERVE, RPE_TOP
from logs.analysis.load_advice_facts import Exposure, PerformedSet
from logs.selectors.load_advice_plans import NO_PLAN, SessionPlan, list_session_plans
from programs.prescription.vocabulary import UNCOUNTED_SET_KINDS, LoadUnit

LOOKED_BACK_DAYS: Final = 182
"""How far back exposures are read; over twelve weeks without a lift its loads say nothing any more. Practice."""

SESSIONS_A_LIFT: Final = 12
"""The latest sessions of a lift that are read: four weeks of three, for the way back from a gap. Practice."""

FEVER: Final = "fever_or_infection"

# One pass over each client's sets, by the index on client and date.
_SETS: Final = """
WITH done AS MATERIALIZED (
  SELECT s.client_id, s.exercise_id, s.session_log_id, s.slot_key, s.set_number, s.kind, s.side, s.outcome,
    coalesce((s.segments -> 0 ->> 'reps')::int, s.reps) AS reps, s.load, s.unit, s.load_kg, s.load_basis, s.machine,
    s.rpe, s.in_reserve, s.tempo_class, s.id, s.row_version, l.row_version AS session_version,
    l.local_date, l.place_id, l.planned_session_id,
    dense_rank() OVER (PARTITION BY s.client_id, s.exercise_id ORDER BY l.local_date DESC, l.id DESC) AS place
  FROM logs_setlog s JOIN logs_sessionlog l ON l.business_id = s.business_id AND l.id = s.session_log_id
  WHERE s.business_id = %(business)s AND s.client_id = ANY (%(clients)s) AND s.exercise_id = ANY (%(exercises)s)
    AND s.local_date >= %(since)s AND s.deleted_at IS NULL AND l.deleted_at IS NULL AND s.outcome <> 'skipped'
    AND s.kind <> ALL (%(uncounted)s)
)
SELECT * FROM done WHERE place <= %(sessions)s
ORDER BY client_id, exercise_id, local_date, session_log_id, slot_key, set_number, side
"""
# Of what lies further back only the last day counts, so that a long silence is told from none ever heard of.
_TRAINED: Final = """
SELECT c.client_id, d.local_date FROM unnest(%(clients)s::uuid[]) AS c (client_id) CROSS JOIN LATERAL (
  SELECT DISTINCT local_date FROM logs_sessionlog WHERE business_id = %(business)s AND client_id = c.client_id
    AND local_date >= %(since)s AND deleted_at IS NULL
  UNION (SELECT local_date FROM logs_sessionlog WHERE business_id = %(business)s AND client_id = c.client_id
    AND local_date < %(since)s AND deleted_at IS NULL ORDER BY local_date DESC LIMIT 1)
) d
"""
_FEVERS: Final = """
SELECT client_id, local_date FROM logs_sessionlog WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
  AND local_date >= %(since)s AND deleted_at IS NULL AND symptoms @> ARRAY[%(fever)s]::varchar[]
UNION SELECT client_id, local_date FROM logs_setlog WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
  AND local_date >= %(since)s AND deleted_at IS NULL AND symptoms <> '{}' AND symptoms @> ARRAY[%(fever)s]::varchar[]
UNION SELECT client_id, local_date FROM logs_checkin WHERE business_id = %(business)s AND client_id = ANY (%(clients)s)
  AND local_date >= %(since)s AND deleted_at IS NULL AND symptoms @> ARRAY[%(fever)s]::varchar[]
"""
_BODYWEIGHTS: Final = """
SELECT DISTINCT ON (client_id) client_id, avg(bodyweight_kg) FROM logs_checkin
WHERE business_id = %(business)s AND client_id = ANY (%(clients)s) AND deleted_at IS NULL
  AND bodyweight_kg IS NOT NULL AND local_date >= %(since)s
GROUP BY client_id, local_date ORDER BY client_id, local_date DESC
"""

_Lift = tuple[UUID, UUID]


@dataclass(slots=True)
class TrainingPast:
    """What is known of clients' training: by client, and exposures by client and exercise."""

    exposures: Mapping[_Lift, tuple[Exposure, ...]] = field(default_factory=dict)
    trained_on: Mapping[UUID, set[date]] = field(default_factory=dict)
    fever_on: Mapping[UUID, set[date]] = field(default_factory=dict)
    ill_on: Mapping[UUID, set[date]] = field(default_factory=dict)
    bodyweight_kg: Mapping[UUID, Decimal] = field(default_factory=dict)


def training_past(*, units: Mapping[UUID, LoadUnit], exercises: Mapping[UUID, str], until: date) -> TrainingPast:
    """Read what was done.

    Args:
        units: each client's unit.
        exercises: the key of each exercise wanted.
        until: the latest of the clients' local dates of today.
    """
    if not units:
        return TrainingPast()
    clients = list(units)
    since = until - timedelta(days=LOOKED_BACK_DAYS)
    return TrainingPast(
        exposures=_exposures(units, exercises, since),
        trained_on=_dates(_rows(_TRAINED, clients=clients, since=since)),
        fever_on=_dates(_rows(_FEVERS, clients=clients, since=since, fever=FEVER)),
        ill_on=_ill_days(clients, since),
        bodyweight_kg={
            row[0]: row[1]
            for row in _rows(_BODYWEIGHTS, clients=clients, since=until - timedelta(days=BODYWEIGHT_KNOWN_DAYS))
        },
    )


def _exposures(
    units: Mapping[UUID, LoadUnit], exercises: Mapping[UUID, str], since: date
) -> dict[_Lift, tuple[Exposure, ...]]:
    rows = _named(
        _SETS,
        clients=list(units),
        exercises=list(exercises),
        since=since,
        uncounted=sorted(UNCOUNTED_SET_KINDS),
        sessions=SESSIONS_A_LIFT,
    )
    plans = list_session_plans({row["planned_session_id"] for row in rows if row["planned_session_id"] is not None})
    groups: defaultdict[tuple[UUID, UUID, UUID, str], list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        groups[row["client_id"], row["exercise_id"], row["session_log_id"], row["slot_key"]].append(row)
    found: defaultdict[_Lift, list[Exposure]] = defaultdict(list)
    for (client_id, exercise_id, _session, slot_key), sets in groups.items():
        unit = units[client_id]
        plan = plans.get(sets[0]["planned_session_id"], NO_PLAN)
        place = sets[0]["place_id"] or plan.place_id
        found[client_id, exercise_id].append(
            Exposure(
                session=str(sets[0]["session_log_id"]),
                local_date=sets[0]["local_date"],
                slot_key=slot_key,
                deload=plan.deload,
                place="" if place is None else str(place),
                target=plan.target(slot_key, exercises[exercise_id], unit),
                sets=tuple(_set(row, plan, unit) for row in sets),
                version=_version(sets),
            )
        )
    return {lift: tuple(exposures) for lift, exposures in found.items()}


def _version(sets: Sequence[Mapping[str, Any]]) -> str:
    own = " ".join(f"{row['id']}v{row['row_version']}" for row in sets)
    return f"{sets[0]['session_log_id']}v{sets[0]['session_version']} {own}"


def _set(row: Mapping[str, Any], plan: SessionPlan, unit: LoadUnit) -> PerformedSet:
    load, converted = _load(row, unit)
    tempo_class = row["tempo_class"] or plan.tempo_class(row["slot_key"], row["set_number"]) or "unspecified"
    return PerformedSet(
        set_number=row["set_number"],
        kind=row["kind"],
        side=row["side"],
        outcome=row["outcome"],
        reps=row["reps"],
        load=load,
        converted=converted,
        reserve=_reserve(row),
        tempo_class=cast("Any", tempo_class),
        machine=row["machine"],
    )


def _load(row: Mapping[str, Any], unit: LoadUnit) -> tuple[Decimal | None, bool]:
    if row["load_kg"] is None:
        return (Decimal(0), False) if row["load_basis"] == "added" else (None, False)
    if row["unit"] == unit:
        return row["load"].normalize(), False
    return (row["load_kg"] if unit == "kg" else kg_to_lb(row["load_kg"])), True


def _reserve(row: Mapping[str, Any]) -> Decimal | None:
    if row["in_reserve"] is not None:
        return cast("Decimal", row["in_reserve"])
    if row["rpe"] is not None:
        return Decimal(0) if row["rpe"] >= RPE_AT_NO_RESERVE else cast("Decimal", RPE_TOP - row["rpe"])
    return Decimal(0) if row["kind"] == "to_limit" or row["outcome"] == "failed" else None


def _ill_days(clients: Collection[UUID], since: date) -> dict[UUID, set[date]]:
    found: defaultdict[UUID, set[date]] = defaultdict(set)
    rows = Absence.objects.filter(client_id__in=clients, kind=AbsenceKind.ILL, ends_on__gte=since)
    for client_id, starts_on, ends_on in rows.values_list("client_id", "starts_on", "ends_on"):
        days = (min(ends_on, since + timedelta(days=2 * LOOKED_BACK_DAYS)) - max(starts_on, since)).days
        found[client_id] |= {max(starts_on, since) + timedelta(days=number) for number in range(days + 1)}
    return found


def _dates(rows: Collection[tuple[UUID, date]]) -> dict[UUID, set[date]]:
    found: defaultdict[UUID, set[date]] = defaultdict(set)
    for client_id, local_date in rows:
        found[client_id].add(local_date)
    return found


def _rows(statement: str, **parameters: Any) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(statement, {"business": current_business_id(), **parameters})
        return list(cursor.fetchall())


def _named(statement: str, **parameters: Any) -> list[dict[str, Any]]:
    with connection.cursor() as cursor:
        cursor.execute(statement, {"business": current_business_id(), **parameters})
        names = [column.name for column in cursor.description or ()]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
