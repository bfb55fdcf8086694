"""Rows of training histories for tests: written straight to the tables, as intake leaves them."""

from dataclasses import asdict
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Max

from coaching.models import Client
from coaching.tenancy.models import new_id
from logs.analysis.facts import WeekFacts
from logs.analysis.weekly import weekly_figures
from logs.models import CheckIn, ClientWeek, SessionLog, SetLog
from logs.selectors.week_facts import week_facts
from programs.models import Assignment, Exercise, PlannedSession, Program, Variant, Version
from tests.scenario import NOON

MONDAY = date(2031, 3, 3)


def log_fields(client: Client, local_date: date) -> dict[str, Any]:
    return {
        "client": client,
        "source": "gym-floor-app",
        "external_id": str(new_id()),
        "content_hash": b"0" * 16,
        "local_date": local_date,
        "received_at": NOON,
    }


def exercise(key: str, **more: Any) -> Exercise:
    """An exercise of the business, the catalogue's own copy changed as the test needs it."""
    fields = {
        "name": key,
        "origin": "own",
        "pattern": "squat",
        "primary_muscles": ["quadriceps"],
        "secondary_muscles": ["glutes"],
        "laterality": "bilateral",
        "measure": "reps",
        "load_basis": "total",
        "loading": "barbell",
        **more,
    }
    return Exercise.objects.update_or_create(key=key, defaults=fields)[0]


def session(client: Client, local_date: date, **more: Any) -> SessionLog:
    return SessionLog.objects.create(**log_fields(client, local_date), **more)


def performed(log: SessionLog, of: Exercise, **more: Any) -> SetLog:
    number = (log.sets.aggregate(last=Max("set_number"))["last"] or 0) + 1
    fields = {
        "session_log": log,
        "exercise": of,
        "set_number": number,
        "kind": "work",
        "side": "both",
        "reps": 5,
        "load_kg": Decimal(100),
        "load_basis": "total",
        **more,
    }
    return SetLog.objects.create(**log_fields(log.client, log.local_date), **fields)


def check_in(client: Client, local_date: date, **more: Any) -> CheckIn:
    return CheckIn.objects.create(**log_fields(client, local_date), **more)


def assignment(client: Client, *, calendar: str = "fixed_days", start_date: date = MONDAY) -> Assignment:
    variant = Variant.objects.create(program=Program.objects.create(name="Base"), name=str(new_id()))
    Version.objects.create(variant=variant, number=1, state="published", content={}, content_hash="0")
    return Assignment.objects.create(client=client, variant=variant, calendar=calendar, start_date=start_date)


def planned(given: Assignment, local_date: date, **more: Any) -> PlannedSession:
    taken = given.sessions.aggregate(last=Max("week_number"))["last"] or 0
    version = given.variant.versions.get()
    fields = {
        "week_number": taken + 1,
        "day_number": 1,
        "template_key": "lower-a",
        "title": "Lower A",
        "window_start": local_date,
        "window_end": local_date,
        "zone": "Europe/Paris",
        "prescribed": {},
        "planned_work_sets": 10,
        "planned_low_min": Decimal(40),
        "planned_high_min": Decimal(50),
        **more,
    }
    return PlannedSession.objects.create(
        assignment=given, client=given.client, version=version, local_date=local_date, **fields
    )


def rows_by_week() -> dict[tuple[UUID, date], dict[str, Any]]:
    """The stored weekly rows, with exact decimals in the JSON columns too."""
    shown = {}
    for row in ClientWeek.objects.all().values():
        figures = {name: value for name, value in row.items() if name not in ("id", "business_id", "client_id")}
        for name in ("muscle_sets", "lift_values"):
            figures[name] = _exact(figures[name])
        shown[row["client_id"], row["week_start"]] = figures
    return shown


def reference_rows(weeks: list[tuple[UUID, date]]) -> dict[tuple[UUID, date], dict[str, Any]]:
    """What the pure reference says that these weeks' rows must be; weeks without facts have none."""
    return {pair: _row(facts) for pair, facts in week_facts(weeks=weeks).items() if _known(facts)}


def weeks_around(first: date, count: int) -> list[date]:
    return [first + timedelta(days=7 * week) for week in range(count)]


def _known(facts: WeekFacts) -> bool:
    counted = [
        one for one in facts.sets if one.kind not in ("warm_up", "ramp", "technique") and one.outcome != "skipped"
    ]
    return bool(counted or facts.sessions or facts.planned or facts.check_ins)


def _row(facts: WeekFacts) -> dict[str, Any]:
    return asdict(weekly_figures(facts))


def _exact(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _exact(inner) for name, inner in value.items()}
    if isinstance(value, bool | str) or value is None:
        return value
    return Decimal(str(value))


def at(day: date, hour: int, minute: int = 0, second: int = 0, microsecond: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, second, microsecond, tzinfo=NOON.tzinfo)
