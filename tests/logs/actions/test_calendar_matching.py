"""A log that is there already is matched when the calendar changes under it."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from threading import Event, Thread
from typing import Any

import pytest
import time_machine
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext

from coaching.models import Client, StaleWeek
from coaching.tenancy.scope import business_scope
from logs.models import AlertState, MissedAlert, SessionLog
from programs.actions.absences import record_absence, remove_absence
from programs.actions.assignment_changes import end_assignment, shift_assignment
from programs.actions.bulk_change_results import SessionsWanted, Shift
from programs.actions.bulk_changes import change_sessions
from programs.actions.planned_sessions import change_planned_session
from programs.models import Assignment, PlannedSession
from tests.logs.logging import post, session
from tests.programs.documents import acting, assign, content, published
from tests.scenario import Cast, build_business

TODAY = date(2031, 3, 12)
NOW = datetime(2031, 3, 12, 9, tzinfo=UTC)
MONDAY = date(2031, 3, 10)
A_DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def _now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def logged(cast: Cast, name: str, day: date, **fields: Any) -> None:
    post(cast.key("logs:write"), session_logs=[session(cast.anna, name, local_date=day.isoformat(), **fields)])


def matched() -> dict[str, date | None]:
    """The planned day of each log; call it in the business's scope."""
    return dict(SessionLog.objects.values_list("external_id", "planned_session__local_date"))


@pytest.mark.parametrize("calendar", ["fixed_days", "any_days_in_week", "in_sequence"])
def test_a_log_of_before_is_matched_when_its_program_is_assigned_backdated(cast: Cast, calendar: str) -> None:
    logged(cast, "a", MONDAY)
    with business_scope(cast.business_id):
        StaleWeek.objects.all().delete()
        assign(
            cast.coach,
            published(),
            cast.anna.id,
            calendar=calendar,
            weekdays=(0, 2, 4) if calendar == "fixed_days" else None,
            late_after_days=3 if calendar == "in_sequence" else None,
            now=NOW,
        )
        first = PlannedSession.objects.get(week_number=1, day_number=1)
        assert SessionLog.objects.get().planned_session_id == first.id
        assert (first.state, first.performed_on) == ("done", MONDAY)
        assert (cast.anna.id, MONDAY) in set(StaleWeek.objects.values_list("client_id", "week_start"))


def test_forty_clients_with_logs_are_assigned_in_as_many_statements_as_one(cast: Cast) -> None:
    counts: list[int] = []
    for size in (1, 40):
        with business_scope(cast.business_id):
            version = published(content(weeks=4))
            clients = [
                Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="Europe/Paris", unit="kg")
                for number in range(size)
            ]
        logs = [session(client, local_date=MONDAY.isoformat()) for client in clients]
        post(cast.key("logs:write"), session_logs=logs)
        with business_scope(cast.business_id):
            with CaptureQueriesContext(connection) as queries:
                assign(cast.coach, version, *(client.id for client in clients), now=NOW)
            counts.append(len(queries))
            done = PlannedSession.objects.filter(client__in=clients, state="done")
            assert done.count() == size
    assert counts[0] == counts[1]


def test_an_extra_is_matched_when_a_session_is_moved_onto_its_day(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, weekdays=(0, 3, 4), now=NOW)
    logged(cast, "a", TODAY)
    with business_scope(cast.business_id):
        assert matched() == {"a": None}
        moved = PlannedSession.objects.get(local_date=date(2031, 3, 13))
        change_planned_session(
            actor=acting(cast.coach), planned_session_id=moved.id, versions=None, local_date=TODAY, now=NOW
        )
        moved.refresh_from_db()
        assert matched() == {"a": TODAY}
        assert (moved.state, moved.performed_on) == ("done", TODAY)


def test_an_extra_is_matched_when_a_program_is_shifted_onto_its_day(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, weekdays=(0, 3, 4), now=NOW)
    logged(cast, "a", TODAY)
    with business_scope(cast.business_id):
        assignment = Assignment.objects.get()
        shift_assignment(
            actor=acting(cast.coach), assignment_id=assignment.id, days=-1, from_date=date(2031, 3, 13), now=NOW
        )
        assert matched() == {"a": TODAY}


def test_an_extra_is_matched_when_many_sessions_are_shifted_at_once(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, weekdays=(0, 3, 4), now=NOW)
    logged(cast, "a", TODAY)
    with business_scope(cast.business_id):
        to_come = PlannedSession.objects.filter(local_date__gt=TODAY).values_list("id", flat=True)
        change_sessions(
            actor=acting(cast.coach), wanted=SessionsWanted(session_ids=list(to_come)), change=Shift(days=-1), now=NOW
        )
        assert matched() == {"a": TODAY}


def test_an_ended_program_leaves_its_logs_matched_and_a_new_one_takes_the_extras(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, weekdays=(0, 3, 4), now=NOW)
    logged(cast, "monday", MONDAY)
    logged(cast, "today", TODAY)
    with business_scope(cast.business_id):
        end_assignment(
            actor=acting(cast.coach), assignment_id=Assignment.objects.get().id, versions=None, from_date=None, now=NOW
        )
        assert matched() == {"monday": MONDAY, "today": None}
        assign(cast.coach, published(variant="Other"), cast.anna.id, start_date=TODAY, weekdays=(0, 2, 4), now=NOW)
        assert matched() == {"monday": MONDAY, "today": TODAY}


def test_an_alert_is_withdrawn_when_the_move_of_its_session_meets_a_log(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, weekdays=(0, 3, 4), now=NOW)
        missed = PlannedSession.objects.get(local_date=MONDAY)
        PlannedSession.objects.filter(id=missed.id).update(state="missed", missed_at=NOW)
        alert = MissedAlert.objects.create(client=cast.anna, planned_session=missed, local_date=MONDAY, created_at=NOW)
    logged(cast, "a", TODAY)
    with business_scope(cast.business_id):
        change_planned_session(
            actor=acting(cast.coach), planned_session_id=missed.id, versions=None, local_date=TODAY, now=NOW
        )
        alert.refresh_from_db()
        assert alert.state == AlertState.WITHDRAWN
        assert matched() == {"a": TODAY}


def test_an_absence_that_comes_and_goes_leaves_what_was_done_matched(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, now=NOW)
        absence = record_absence(
            actor=acting(cast.coach), client_id=cast.anna.id, starts_on=MONDAY, ends_on=TODAY, kind="holiday", now=NOW
        )
    logged(cast, "a", MONDAY)
    with business_scope(cast.business_id):
        assert matched() == {"a": MONDAY}
        remove_absence(actor=acting(cast.coach), absence_id=absence.id, versions=None, now=NOW)
        assert matched() == {"a": MONDAY}
        states = dict(PlannedSession.objects.values_list("local_date", "state"))
    assert (states[MONDAY], states[TODAY]) == ("done", "planned")


def test_the_windows_of_a_sequence_do_not_decide_which_of_two_sequences_a_log_takes(cast: Cast) -> None:
    kept: dict[str, Any] = {"calendar": "in_sequence", "weekdays": None, "late_after_days": 3, "now": NOW}
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, start_date=MONDAY, **kept)
        assign(cast.coach, published(content(weeks=1), variant="B"), cast.anna.id, start_date=MONDAY + A_DAY, **kept)
    logged(cast, "b", TODAY)
    logged(cast, "a", MONDAY)
    with business_scope(cast.business_id):
        found = dict(SessionLog.objects.values_list("external_id", "planned_session__assignment__start_date"))
        days = dict(SessionLog.objects.values_list("external_id", "planned_session__day_number"))
    assert found == {"a": MONDAY, "b": MONDAY}
    assert days == {"a": 1, "b": 2}


def test_a_log_that_comes_while_a_session_is_moved_onto_its_day_waits_and_meets_it(committed: None) -> None:
    cast = build_business("Copper Hill")
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id, weekdays=(0, 3, 4), now=NOW)
        moved_id = PlannedSession.objects.get(local_date=date(2031, 3, 13)).id
    key = cast.key("logs:write")
    answered = Event()

    def logging() -> None:
        try:
            post(key, session_logs=[session(cast.anna, "a", local_date=TODAY.isoformat())])
        finally:
            answered.set()
            connections.close_all()

    late = Thread(target=logging)
    with business_scope(cast.business_id):
        change_planned_session(
            actor=acting(cast.coach), planned_session_id=moved_id, versions=None, local_date=TODAY, now=NOW
        )
        late.start()
        while not answered.wait(0.02) and not _somebody_waits():
            pass
    late.join(timeout=30)
    with business_scope(cast.business_id):
        assert matched() == {"a": TODAY}


def _somebody_waits() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT EXISTS (SELECT FROM pg_locks WHERE NOT granted)")
        return bool(cursor.fetchone()[0])
