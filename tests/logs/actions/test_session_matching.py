"""Which planned session a log belongs to follows from the facts, never from the order in which they came."""

from datetime import date
from itertools import permutations

import pytest

from coaching.tenancy.scope import business_scope
from logs.models import SessionLog
from programs.models import PlannedSession
from tests.logs.logging import plan, planned_state, post, session, set_

MONDAY, TUESDAY, WEDNESDAY = date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 4)
WEEK = (MONDAY, date(2026, 3, 8))


@pytest.fixture
def app(cast):
    return cast.key("logs:write", "logs:read")


def matched(cast):
    with business_scope(cast.business_id):
        rows = SessionLog.objects.filter(deleted_at__isnull=True).values_list("external_id", "planned_session_id")
        return {name: None if planned is None else str(planned) for name, planned in rows}


def log_of(client, name, day, **fields):
    return session(client, name, local_date=day.isoformat(), **fields)


def test_a_log_takes_the_planned_session_of_its_date_and_makes_it_done(cast, app):
    monday, tuesday = plan(cast, cast.anna, MONDAY, TUESDAY)
    post(app, session_logs=[log_of(cast.anna, "a", TUESDAY)])
    assert matched(cast) == {"a": tuesday}
    assert (planned_state(cast, monday), planned_state(cast, tuesday)) == ("planned", "done")


def test_a_log_of_a_day_without_a_plan_is_extra(cast, app):
    plan(cast, cast.anna, MONDAY)
    post(app, session_logs=[log_of(cast.anna, "a", WEDNESDAY), log_of(cast.ben, "b", MONDAY)])
    assert matched(cast) == {"a": None, "b": None}


def test_a_named_planned_session_is_taken_whatever_the_date(cast, app):
    (monday,) = plan(cast, cast.anna, MONDAY)
    post(app, session_logs=[log_of(cast.anna, "a", TUESDAY, planned_session=monday)])
    assert matched(cast) == {"a": monday}
    with business_scope(cast.business_id):
        done = PlannedSession.objects.get(id=monday)
    assert (done.state, done.performed_on, done.moved_from) == ("done", TUESDAY, MONDAY)


def test_of_two_logs_of_a_day_the_earlier_start_takes_the_plan_in_whichever_order_they_come(cast, app):
    (monday,) = plan(cast, cast.anna, MONDAY)
    evening = log_of(cast.anna, "evening", MONDAY, started_at="2026-03-02T18:00:00Z")
    morning = log_of(cast.anna, "morning", MONDAY, started_at="2026-03-02T06:00:00Z")
    post(app, session_logs=[evening])
    assert matched(cast) == {"evening": monday}
    post(app, session_logs=[morning])
    assert matched(cast) == {"evening": None, "morning": monday}


def test_a_log_that_names_the_plan_makes_one_that_only_matched_it_extra(cast, app):
    (monday,) = plan(cast, cast.anna, MONDAY)
    post(app, session_logs=[log_of(cast.anna, "matched", MONDAY)])
    post(app, session_logs=[log_of(cast.anna, "named", TUESDAY, planned_session=monday)])
    assert matched(cast) == {"matched": None, "named": monday}


@pytest.mark.django_db
@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_floating_sessions_are_taken_by_date_in_whichever_order_the_logs_come(cast, app, order):
    first, second, third = plan(cast, cast.anna, MONDAY, MONDAY, MONDAY, calendar="any_days_in_week", window=WEEK)
    logs = [log_of(cast.anna, name, day) for name, day in (("a", MONDAY), ("b", TUESDAY), ("c", WEDNESDAY))]
    for place in order:
        post(app, session_logs=[logs[place]])
    assert matched(cast) == {"a": first, "b": second, "c": third}


def test_the_next_of_a_sequence_is_taken_whenever_the_log_comes(cast, app):
    first, second = plan(cast, cast.anna, MONDAY, MONDAY, calendar="in_sequence", window=(MONDAY, MONDAY))
    post(app, session_logs=[log_of(cast.anna, "b", date(2026, 3, 20))])
    assert matched(cast) == {"b": first}
    post(app, session_logs=[log_of(cast.anna, "a", TUESDAY)])
    assert matched(cast) == {"a": first, "b": second}


def test_sets_decide_whether_the_planned_session_was_done_or_part_done(cast, app):
    (monday,) = plan(cast, cast.anna, MONDAY, work_sets=4)
    post(app, session_logs=[log_of(cast.anna, "s1", MONDAY)], set_logs=[set_(cast.anna)])
    assert planned_state(cast, monday) == "part_done"
    post(
        app,
        set_logs=[
            # The sides of one number are one set, and a warm-up set counts in nothing.
            set_(cast.anna, "l", set_number=2, side="left"),
            set_(cast.anna, "r", set_number=2, side="right"),
            set_(cast.anna, "w", set_number=3, kind="warm_up"),
            set_(cast.anna, "s", set_number=4, outcome="skipped"),
        ],
    )
    assert planned_state(cast, monday) == "part_done"
    post(app, set_logs=[set_(cast.anna, "s1-3", set_number=3, outcome="failed")])
    assert planned_state(cast, monday) == "done"


def test_deleting_the_log_opens_the_planned_session_again(cast, app):
    (monday,) = plan(cast, cast.anna, MONDAY)
    answer = post(app, session_logs=[log_of(cast.anna, "a", MONDAY)])
    assert planned_state(cast, monday) == "done"
    path = f"/api/v1/session-logs/{answer['items'][0]['id']}"
    assert app.delete(path, headers={"If-Match": "*"}).status_code == 204
    assert planned_state(cast, monday) == "planned"


def test_a_corrected_date_moves_a_log_from_one_planned_session_to_another(cast, app):
    monday, tuesday = plan(cast, cast.anna, MONDAY, TUESDAY)
    post(app, session_logs=[log_of(cast.anna, "a", MONDAY)])
    post(app, session_logs=[log_of(cast.anna, "a", TUESDAY)])
    assert matched(cast) == {"a": tuesday}
    assert (planned_state(cast, monday), planned_state(cast, tuesday)) == ("planned", "done")


def test_a_set_that_moves_to_another_session_counts_there_and_no_more_here(cast, app):
    monday, tuesday = plan(cast, cast.anna, MONDAY, TUESDAY, work_sets=1)
    post(
        app,
        session_logs=[log_of(cast.anna, "s1", MONDAY), log_of(cast.anna, "s2", TUESDAY)],
        set_logs=[set_(cast.anna)],
    )
    post(app, set_logs=[set_(cast.anna, session_external_id="s2")])
    with business_scope(cast.business_id):
        counts = dict(PlannedSession.objects.values_list("id", "done_work_sets"))
    assert {str(one): count for one, count in counts.items()} == {monday: 0, tuesday: 1}
