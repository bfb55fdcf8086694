"""Put single sessions on a client's calendar, where a test needs no program behind them."""

from datetime import date
from decimal import Decimal

from coaching.models import Business, Client
from coaching.tenancy.scope import current_business_id
from programs.models import (
    Assignment,
    CalendarKind,
    PlannedSession,
    PlannedState,
    Program,
    Variant,
    Version,
    VersionState,
)
from programs.prescription.calendar import due_at


def plan_session(
    client: Client, local_date: date, *, title: str = "Lower A", state: str = PlannedState.PLANNED
) -> PlannedSession:
    """Plan a session on a fixed day of a client; call it in the business's scope."""
    assignment = Assignment.objects.filter(client=client).first() or _assign(client, local_date)
    number = PlannedSession.objects.filter(assignment=assignment).count() + 1
    grace_h = Business.objects.get(id=current_business_id()).grace_h
    return PlannedSession.objects.create(
        assignment=assignment,
        client=client,
        version=assignment.versions.get().version,
        week_number=1,
        day_number=number,
        template_key="lower-a",
        title=title,
        local_date=local_date,
        window_start=local_date,
        window_end=local_date,
        zone=client.time_zone,
        due_at=due_at(local_date, client.time_zone, grace_h),
        state=state,
        prescribed={},
        planned_work_sets=12,
        planned_low_min=Decimal(40),
        planned_high_min=Decimal(45),
    )


def _assign(client: Client, start_date: date) -> Assignment:
    program = Program.objects.create(name="Ground")
    variant = Variant.objects.create(program=program, name="Three days")
    version = Version.objects.create(
        variant=variant, number=1, state=VersionState.PUBLISHED, content={}, content_hash=""
    )
    assignment = Assignment.objects.create(
        client=client, variant=variant, calendar=CalendarKind.FIXED_DAYS, start_date=start_date
    )
    assignment.versions.create(version=version, from_date=start_date)
    return assignment
