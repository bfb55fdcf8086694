"""Program documents of our own invention, and published versions of them."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from coaching.models import Membership, Role
from coaching.policy import Principal
from coaching.tenancy.scope import current_business_id
from programs.actions.assignment_results import AssignmentResult, AssignmentTerms, ClientStart
from programs.actions.assignments import assign_version
from programs.actions.programs import create_program
from programs.actions.versions import publish_version, write_draft
from programs.models import PlannedSession, Variant, Version
from tests.scenario import NOON

MONDAY = date(2031, 3, 10)
"""The Monday after the scenario's noon."""


def squat_slot(key: str = "A1", **load: Any) -> dict[str, Any]:
    return {
        "slot_key": key,
        "exercise": "back-squat",
        "goal": "strength",
        "rest_s": 180,
        "sets": [
            {"count": 2, "kind": "warm_up", "reps_low": 5},
            {
                "count": 4,
                "kind": "work",
                "reps_low": 5,
                "tempo": "20X1",
                "rpe": 8,
                "load": load or {"kind": "absolute", "load_kg": "80"},
            },
        ],
    }


def day(number: int, *slots: dict[str, Any]) -> dict[str, Any]:
    return {
        "day_number": number,
        "template_key": f"day-{number}",
        "title": f"Day {number}",
        "blocks": [{"kind": "straight", "label": "A", "slots": [slot]} for slot in slots or (squat_slot(),)],
    }


def content(*, weeks: int = 2, days: int = 3, **load: Any) -> dict[str, Any]:
    return {
        "weeks": [
            {
                "week_number": week,
                "deload": False,
                "days": [day(number, squat_slot(**load)) for number in range(1, days + 1)],
            }
            for week in range(1, weeks + 1)
        ]
    }


def published(document: dict[str, Any] | None = None, *, variant: str = "Three days") -> Version:
    """Publish a version; call it in the business's scope."""
    program = create_program(name="Ground Work", variants=[variant])
    made = write_draft(
        program_id=program.id,
        variant_id=Variant.objects.get(program=program).id,
        content=document or content(),
    )
    publish_version(actor_membership_id=None, version_id=made.id, now=NOON)
    return Version.objects.get(id=made.id)


def acting(member: Membership) -> Principal:
    return Principal(
        kind="person",
        business_id=current_business_id(),
        credential_id=member.id,
        role=Role(member.role),
        person_id=member.person_id,
        membership_id=member.id,
    )


def assign(
    member: Membership,
    version: Version,
    *clients: UUID,
    calendar: str = "fixed_days",
    weekdays: tuple[int, ...] | None = (0, 2, 4),
    start_date: date = MONDAY,
    late_after_days: int | None = None,
    now: datetime = NOON,
) -> list[AssignmentResult]:
    """Assign a version; call it in the business's scope."""
    return assign_version(
        actor=acting(member),
        version_id=version.id,
        terms=AssignmentTerms(
            calendar=calendar, start_date=start_date, weekdays=weekdays, late_after_days=late_after_days
        ),
        clients=[ClientStart(client_id) for client_id in clients],
        now=now,
    )


def sessions(client_id: UUID) -> list[PlannedSession]:
    """A client's sessions in the program's order."""
    return list(PlannedSession.objects.filter(client_id=client_id).order_by("week_number", "day_number"))
