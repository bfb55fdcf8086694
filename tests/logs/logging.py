"""What tests of logs post: the plainest session, set and check-in, changed by keyword."""

from datetime import date, timedelta
from typing import Any

from coaching.tenancy.scope import business_scope
from programs.models import (
    Assignment,
    CalendarKind,
    PlannedSession,
    Program,
    Variant,
    Version,
)
from tests.scenario import Cast

DAY = "2026-03-04"
BATCHES = "/api/v1/log-batches"


def session(client: Any, external_id: str = "s1", **fields: Any) -> dict[str, Any]:
    """A session log that was done."""
    return {"external_id": external_id, "client": str(client.id), "local_date": DAY, "session_rpe": 7, **fields}


def set_(client: Any, external_id: str = "s1-1", **fields: Any) -> dict[str, Any]:
    """A set of squats."""
    sent = {
        "external_id": external_id,
        "client": str(client.id),
        "session_external_id": "s1",
        "exercise": "back-squat",
        "set_number": 1,
        "reps": 6,
        "load_kg": 80,
        **fields,
    }
    return {name: value for name, value in sent.items() if value is not ...}


def check_in(client: Any, external_id: str = "c1", **fields: Any) -> dict[str, Any]:
    """A check-in of somebody well."""
    return {"external_id": external_id, "client": str(client.id), "local_date": DAY, "sleep": 3, **fields}


def post(api: Any, **lists: Any) -> dict[str, Any]:
    """Post a batch that is taken."""
    answer = api.post(BATCHES, lists, format="json")
    assert answer.status_code == 200, answer.content
    taken: dict[str, Any] = answer.json()
    return taken


def outcomes(answer: dict[str, Any]) -> list[str]:
    """Return what became of the items, in order."""
    return [item["outcome"] for item in answer["items"]]


def plan(
    cast: Cast,
    client: Any,
    *days: date,
    calendar: str = CalendarKind.FIXED_DAYS,
    window: tuple[date, date] | None = None,
    work_sets: int = 2,
) -> list[str]:
    """Plan sessions on days, as an assignment would; return their ids."""
    with business_scope(cast.business_id):
        program = Program.objects.create(name="Base")
        variant = Variant.objects.create(program=program, name="Gym")
        version = Version.objects.create(variant=variant, number=1, content={}, content_hash="", state="published")
        assignment = Assignment.objects.create(
            client=client, variant=variant, calendar=calendar, start_date=days[0], late_after_days=3
        )
        return [
            str(
                PlannedSession.objects.create(
                    assignment=assignment,
                    client=client,
                    version=version,
                    week_number=1,
                    day_number=number,
                    template_key=f"day-{number}",
                    title=f"Day {number}",
                    local_date=window[1] if window else day,
                    window_start=window[0] if window else day,
                    window_end=window[1] if window else day,
                    zone="Europe/Paris",
                    prescribed={},
                    planned_work_sets=work_sets,
                    planned_low_min=30,
                    planned_high_min=45,
                ).id
            )
            for number, day in enumerate(days, start=1)
        ]


def planned_state(cast: Cast, planned_id: str) -> str:
    """Return a planned session's state."""
    with business_scope(cast.business_id):
        return PlannedSession.objects.get(id=planned_id).state


def days_from(first: date, count: int) -> list[date]:
    """Return days running."""
    return [first + timedelta(days=number) for number in range(count)]
