"""However changes of logs and of the calendar come mixed: each log belongs where the facts of now say."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import orjson
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coaching.models import Absence
from coaching.policy import Principal, Scope
from coaching.refusals import Refusal
from coaching.tenancy.scope import business_scope
from logs.actions.batch_records import record_log_batch
from logs.actions.log_deletions import delete_log
from logs.actions.session_matching import LoggedPlace, PlannedPlace, matches
from logs.api.batch_body import read_batch
from logs.models import SessionLog
from programs.actions.absences import record_absence, remove_absence
from programs.actions.assignment_changes import change_weekdays, end_assignment, shift_assignment
from programs.actions.assignment_pauses import pause_assignment, resume_assignment
from programs.actions.planned_sessions import change_planned_session
from programs.models import Assignment, PlannedSession, Version
from tests.logs.logging import session
from tests.programs.documents import acting, assign, content, published
from tests.scenario import Cast

NOW = datetime(2031, 3, 12, 9, tzinfo=UTC)
TODAY = date(2031, 3, 12)
VARIANTS = ("A", "B")
Step = tuple[str, int, int]


class _Undo(Exception):  # noqa: N818 -- it undoes, nothing went wrong
    """Takes a run of the property back."""


def day(number: int) -> date:
    return TODAY + timedelta(days=number)


def log(cast: Cast, name: int, days: int) -> None:
    earlier = SessionLog.objects.filter(external_id=f"s{name}").first()
    item = session(
        cast.anna, f"s{name}", local_date=day(-days).isoformat(), revision=earlier.revision + 1 if earlier else 0
    )
    actor = Principal(
        kind="key", business_id=cast.business_id, credential_id=UUID(int=1), scopes=frozenset(Scope), source="app"
    )
    body = read_batch(orjson.dumps({"session_logs": [item]}))
    record_log_batch(actor=actor, source=None, items=body.items, strict=False, now=NOW)


def delete(cast: Cast, name: int, _days: int) -> None:
    found = SessionLog.objects.filter(external_id=f"s{name}", deleted_at__isnull=True).first()
    if found:
        delete_log(actor=acting(cast.coach), kind="session_log", log_id=found.id, versions=None, now=NOW)


def give(cast: Cast, variant: int, days: int) -> None:
    calendar = ("fixed_days", "any_days_in_week", "in_sequence")[days % 3]
    assign(
        cast.coach,
        Version.objects.get(variant__name=VARIANTS[variant % 2]),
        cast.anna.id,
        calendar=calendar,
        weekdays=(0, 2) if calendar == "fixed_days" else None,
        late_after_days=3 if calendar == "in_sequence" else None,
        start_date=day(-days),
        now=NOW,
    )


def one_of(rows: list[Any], number: int) -> Any:
    return rows[number % len(rows)] if rows else None


def on_assignment(change: Callable[[Cast, UUID, int], None]) -> Callable[[Cast, int, int], None]:
    def changed(cast: Cast, number: int, days: int) -> None:
        assignment = one_of(list(Assignment.objects.order_by("id")), number)
        if assignment:
            change(cast, assignment.id, days)

    return changed


def move(cast: Cast, number: int, days: int) -> None:
    row = one_of(list(PlannedSession.objects.order_by("id")), number)
    if row:
        change_planned_session(
            actor=acting(cast.coach), planned_session_id=row.id, versions=None, local_date=day(days % 3), now=NOW
        )


def be_away(cast: Cast, number: int, days: int) -> None:
    record_absence(
        actor=acting(cast.coach),
        client_id=cast.anna.id,
        starts_on=day(-days),
        ends_on=day(number - days),
        kind="holiday",
        now=NOW,
    )


def come_back(cast: Cast, number: int, _days: int) -> None:
    absence = one_of(list(Absence.objects.order_by("id")), number)
    if absence:
        remove_absence(actor=acting(cast.coach), absence_id=absence.id, versions=None, now=NOW)


STEPS: dict[str, Callable[[Cast, int, int], None]] = {
    "log": log,
    "delete": delete,
    "assign": give,
    "move": move,
    "away": be_away,
    "back": come_back,
    "end": on_assignment(
        lambda cast, found, days: end_assignment(
            actor=acting(cast.coach), assignment_id=found, versions=None, from_date=day(days % 3), now=NOW
        )
    ),
    "shift": on_assignment(
        lambda cast, found, days: shift_assignment(
            actor=acting(cast.coach), assignment_id=found, days=days % 5 - 2, from_date=day(days % 2), now=NOW
        )
    ),
    "weekdays": on_assignment(
        lambda cast, found, days: change_weekdays(
            actor=acting(cast.coach),
            assignment_id=found,
            versions=None,
            weekdays=sorted({days % 7, (days + 3) % 7}),
            from_date=None,
            now=NOW,
        )
    ),
    "pause": on_assignment(
        lambda cast, found, days: pause_assignment(
            actor=acting(cast.coach), assignment_id=found, from_date=day(days % 2), now=NOW
        )
    ),
    "resume": on_assignment(
        lambda cast, found, days: resume_assignment(
            actor=acting(cast.coach), assignment_id=found, on=day(days % 3), now=NOW
        )
    ),
}


def steps() -> st.SearchStrategy[list[Step]]:
    names = st.sampled_from(["log", "log", "log", "assign", "assign", "move", "move", *STEPS])
    return st.lists(st.tuples(names, st.integers(0, 5), st.integers(0, 12)), min_size=2, max_size=12)


def stored() -> dict[str, str | None]:
    rows = SessionLog.objects.filter(deleted_at__isnull=True).values_list("id", "planned_session_id")
    return {str(log_id): None if planned_id is None else str(planned_id) for log_id, planned_id in rows}


def from_the_facts() -> dict[str, str | None]:
    """Match all logs to all sessions at once, as if everything had come together."""
    planned = [
        PlannedPlace(
            str(row.id),
            row.assignment.calendar,
            row.window_start,
            row.window_end,
            (row.week_number, row.day_number),
            row.assignment.start_date,
        )
        for row in PlannedSession.objects.select_related("assignment")
    ]
    logged = [
        LoggedPlace(str(row.id), row.local_date, row.started_at, (row.source, row.external_id), None, settled=False)
        for row in SessionLog.objects.filter(deleted_at__isnull=True)
    ]
    return matches(planned, logged)


@given(steps=steps())
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
def test_every_log_belongs_where_the_facts_of_now_say(cast: Cast, steps: list[Step]) -> None:
    try:
        with business_scope(cast.business_id), transaction.atomic():
            for variant in VARIANTS:
                published(content(weeks=2, days=2), variant=variant)
            for name, number, days in steps:
                try:
                    with transaction.atomic():
                        STEPS[name](cast, number, days)
                except Refusal:
                    continue
                assert stored() == from_the_facts(), name
            raise _Undo  # noqa: TRY301
    except _Undo:
        pass
