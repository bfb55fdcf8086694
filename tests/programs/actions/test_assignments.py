"""One version given to many clients."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Absence, Client, ClientState, StaleWeek
from coaching.refusals import UnknownObject
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from programs.actions.assignments import NotAssignable
from programs.actions.programs import change_program
from programs.actions.versions import withdraw_version
from programs.models import Exercise, PlannedSession, ReferenceLoad
from tests.programs.documents import MONDAY, assign, content, published, sessions
from tests.scenario import NOON, Cast


def test_sessions_fall_on_the_chosen_weekdays_in_each_clients_zone(cast: Cast) -> None:
    with business_scope(cast.business_id):
        results = assign(cast.coach, published(), cast.anna.id, cast.ben.id)
        assert [(result.outcome, result.session_count) for result in results] == [("assigned", 6)] * 2
        assert (results[0].first_date, results[0].last_date) == (MONDAY, date(2031, 3, 21))
        anna, ben = sessions(cast.anna.id), sessions(cast.ben.id)
    assert [row.local_date.weekday() for row in anna] == [0, 2, 4, 0, 2, 4]
    assert (anna[0].zone, ben[0].zone) == ("Europe/Paris", "America/Chicago")
    # 06:00 on the next morning where the client is; Chicago is on summer time by then, Paris is not.
    assert anna[0].due_at == datetime(2031, 3, 11, 5, tzinfo=UTC)
    assert ben[0].due_at == datetime(2031, 3, 11, 11, tzinfo=UTC)
    assert {row.state for row in anna + ben} == {"planned"}
    assert (anna[0].window_start, anna[0].window_end) == (MONDAY, MONDAY)


def test_a_session_carries_its_snapshot_its_tempo_classes_and_its_sums(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        row = sessions(cast.anna.id)[0]
    slot = row.prescribed["blocks"][0]["slots"][0]
    assert (slot["exercise"], slot["exercise_name"], slot["load_basis"]) == ("back-squat", "Back squat", "total")
    work = slot["sets"][1]
    assert (work["load_kg"], work["load_unit"], work["resolved_from"]) == ("80", "kg", "As written.")
    assert row.slot_classes == {"A1": ["unspecified"] * 2 + ["standard"] * 4}
    assert row.planned_work_sets == 4
    assert 0 < row.planned_low_min <= row.planned_high_min


def test_a_percentage_is_resolved_from_the_clients_reference_and_rounded_down(cast: Cast) -> None:
    document = content(weeks=1, kind="percent", of="training_max", pct="75")
    with business_scope(cast.business_id):
        ReferenceLoad.objects.create(
            client=cast.anna,
            exercise=Exercise.objects.get(key="back-squat"),
            kind="training_max",
            load=Decimal(105),
            unit="kg",
            load_kg=Decimal(105),
            on_date=date(2031, 3, 1),
        )
        anna, ben = assign(cast.coach, published(document), cast.anna.id, cast.ben.id)
        work = sessions(cast.anna.id)[0].prescribed["blocks"][0]["slots"][0]["sets"][1]
    # 75 % of 105 kg is 78.75 kg; a bar is loaded in steps of 2.5 kg.
    assert work["load_kg"] == "77.5"
    assert "2031-03-01" in work["resolved_from"]
    assert "Rounded down to 77.5 kg" in work["resolved_from"]
    assert anna.needs_reference == ()
    assert [(lack.exercise, lack.of) for lack in ben.needs_reference] == [("back-squat", "training_max")]


def test_a_client_who_loads_in_pounds_gets_pounds_that_can_be_loaded(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(unit="lb")
        assign(cast.coach, published(), cast.ben.id)
        work = sessions(cast.ben.id)[0].prescribed["blocks"][0]["slots"][0]["sets"][1]
    # 80 kg is 176.37 lb; plates go by 5 lb.
    assert (work["load_lb"], work["load_unit"]) == ("175", "lb")
    assert Decimal(work["load_kg"]) == Decimal(175) * Decimal("0.45359237")
    assert "80 kg, rounded down to 175 lb" in work["resolved_from"]


def test_who_can_not_take_it_is_told_why_and_the_others_are_assigned(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(state=ClientState.ENDED)
        results = assign(
            cast.coach, published(), cast.anna.id, cast.ben.id, cast.carl.id, neighbour.anna.id, new_id(), cast.anna.id
        )
        assert PlannedSession.objects.values("client").distinct().count() == 1
    assert [(result.outcome, result.code) for result in results] == [
        ("assigned", ""),
        ("conflict", "client_ended"),
        ("refused", "unknown_object"),
        ("refused", "unknown_object"),
        ("refused", "unknown_object"),
        ("conflict", "named_twice"),
    ]
    assert all(result.detail.endswith((".", "first.")) for result in results[1:])


def test_a_start_far_in_the_past_is_a_conflict(cast: Cast) -> None:
    with business_scope(cast.business_id):
        version = published()
        (too_early,) = assign(cast.coach, version, cast.anna.id, start_date=NOON.date() - timedelta(days=183))
        (just_so,) = assign(cast.coach, version, cast.anna.id, start_date=NOON.date() - timedelta(days=182))
    assert (too_early.outcome, too_early.code) == ("conflict", "start_in_past")
    assert just_so.outcome == "assigned"


def test_weekdays_that_do_not_fit_the_program_are_a_conflict(cast: Cast) -> None:
    with business_scope(cast.business_id):
        (result,) = assign(cast.coach, published(), cast.anna.id, weekdays=(0, 2))
    assert (result.outcome, result.code) == ("conflict", "calendar_conflict")
    assert "add 1" in result.detail


def test_the_clients_own_weekdays_serve_where_none_are_said(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(weekdays=[1, 3, 5])
        (result,) = assign(cast.coach, published(), cast.anna.id, weekdays=None)
        assert [row.local_date.weekday() for row in sessions(cast.anna.id)][:3] == [1, 3, 5]
    assert result.outcome == "assigned"


def test_a_client_on_the_variant_already_is_a_conflict_until_it_has_run_out(cast: Cast) -> None:
    with business_scope(cast.business_id):
        version = published()
        assign(cast.coach, version, cast.anna.id)
        (again,) = assign(cast.coach, version, cast.anna.id, start_date=date(2031, 3, 21))
        (after,) = assign(cast.coach, version, cast.anna.id, start_date=date(2031, 3, 24))
    assert (again.outcome, again.code) == ("conflict", "already_assigned")
    assert after.outcome == "assigned"


def test_sessions_inside_an_absence_start_excused(cast: Cast) -> None:
    with business_scope(cast.business_id):
        away = Absence.objects.create(
            client=cast.anna, starts_on=date(2031, 3, 11), ends_on=date(2031, 3, 13), kind="holiday"
        )
        assign(cast.coach, published(), cast.anna.id)
        rows = sessions(cast.anna.id)
    assert [row.state for row in rows[:3]] == ["planned", "excused", "planned"]
    assert (rows[1].absence_id, rows[1].excuse_reason) == (away.id, "Away: holiday.")


def test_what_does_not_fit_a_client_is_a_warning(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(
            equipment=["dumbbells"], avoided_movements=["squat"], max_complexity=1, session_min=10
        )
        (result,) = assign(cast.coach, published(), cast.anna.id)
    assert result.outcome == "assigned"
    assert {warning.code for warning in result.warnings} >= {
        "missing_equipment",
        "avoided_movement",
        "session_too_long",
    }


def test_weekly_sessions_share_their_window_and_are_due_by_its_end(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="any_days_in_week", weekdays=None)
        rows = sessions(cast.anna.id)[:3]
    assert {(row.window_start, row.window_end, row.local_date) for row in rows} == {
        (MONDAY, date(2031, 3, 16), date(2031, 3, 16))
    }
    assert {row.due_at for row in rows} == {datetime(2031, 3, 17, 5, tzinfo=UTC)}


def test_in_a_sequence_only_the_first_session_is_due(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="in_sequence", weekdays=None, late_after_days=3)
        rows = sessions(cast.anna.id)
    assert rows[0].due_at == datetime(2031, 3, 13, 5, tzinfo=UTC)
    assert {row.due_at for row in rows[1:]} == {None}


def test_only_published_versions_of_programs_in_use_are_assigned(cast: Cast, neighbour: Cast) -> None:
    with business_scope(neighbour.business_id):
        theirs = published()
    with business_scope(cast.business_id):
        version = published()
        with pytest.raises(UnknownObject):
            assign(cast.coach, theirs, cast.anna.id)
        change_program(program_id=version.variant.program_id, versions=None, archived=True)
        with pytest.raises(NotAssignable, match="archive"):
            assign(cast.coach, version, cast.anna.id)
        change_program(program_id=version.variant.program_id, versions=None, archived=False)
        withdraw_version(version_id=version.id)
        with pytest.raises(NotAssignable, match="withdrawn"):
            assign(cast.coach, version, cast.anna.id)


def test_the_weeks_planned_become_stale(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        assert set(StaleWeek.objects.values_list("client_id", "week_start")) == {
            (cast.anna.id, MONDAY),
            (cast.anna.id, MONDAY + timedelta(days=7)),
        }


def test_forty_clients_take_as_many_statements_as_one(cast: Cast) -> None:
    counts: list[int] = []
    with business_scope(cast.business_id):
        version = published(content(weeks=4))
        for size in (1, 40):
            clients = [
                Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="Europe/Paris", unit="kg").id
                for number in range(size)
            ]
            with CaptureQueriesContext(connection) as queries:
                results = assign(cast.coach, version, *clients)
            assert [result.session_count for result in results] == [12] * size
            counts.append(len(queries))
    assert counts[0] == counts[1]
    assert counts[0] <= 19
