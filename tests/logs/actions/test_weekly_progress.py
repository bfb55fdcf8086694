"""Weekly rows: what makes them stale, how they are refreshed, and that it may happen twice at once."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import StringIO
from threading import Barrier, Thread
from typing import Any

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.actions.stale_weeks import clear_stale_weeks, mark_stale, take_stale_weeks
from coaching.models import Business, Client, StaleWeek
from coaching.selectors.due_work import list_businesses_with_stale_weeks
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import (
    follow_business_policy,
    mark_weeks_of_logs,
    rebuild_weeks,
    refresh_weeks,
    store_client_weeks,
)
from logs.analysis.rounding import round_half_even_6
from logs.analysis.weekly import weekly_figures
from logs.models import CheckIn, ClientWeek, SetLog
from logs.selectors.week_facts import week_facts
from programs.actions.catalogue import refresh_catalogue
from programs.catalogue.entries import load_entries
from programs.models import Exercise
from tests.logs import histories, logging
from tests.logs.histories import MONDAY
from tests.scenario import NOON, Cast, build_business

TUESDAY = MONDAY + timedelta(days=1)
WEEK = timedelta(days=7)


def refreshed(cast: Cast) -> None:
    """Refresh whatever is stale, as the job does."""
    while refresh_weeks(cast.business_id, NOON):
        pass


def stale(cast: Cast) -> set[tuple[Any, date]]:
    with business_scope(cast.business_id):
        return set(StaleWeek.objects.values_list("client_id", "week_start"))


def rows(cast: Cast) -> dict[tuple[Any, date], dict[str, Any]]:
    with business_scope(cast.business_id):
        return histories.rows_by_week()


def logged(cast: Cast, day: date = TUESDAY) -> None:
    """A session of Anna's with three squats, marked as intake marks it."""
    with business_scope(cast.business_id):
        squat = histories.exercise("back-squat")
        session = histories.session(cast.anna, day, session_rpe=Decimal(7), duration_min=Decimal(50))
        histories.performed(session, squat, kind="warm_up", load_kg=Decimal(60))
        for reserve in (2, 1):
            histories.performed(session, squat, in_reserve=Decimal(reserve))
        mark_weeks_of_logs(performed=[(cast.anna.id, day)], week_start=0, now=NOON)


def test_a_week_is_computed_from_its_sets_and_sessions(cast: Cast):
    logged(cast)
    refreshed(cast)
    row = rows(cast)[cast.anna.id, MONDAY]
    assert (row["work_sets"], row["hard_sets"], row["reps"], row["tonnage_kg"]) == (2, 2, 10, Decimal(1000))
    assert row["session_load"] == Decimal(350)
    assert row["muscle_sets"]["quadriceps"] == {"direct": 2, "fractional": 2, "total": 2}
    assert row["muscle_sets"]["glutes"] == {"direct": 0, "fractional": 1, "total": 2}
    # Epley, five repetitions and two in reserve: 100 (1 + 7/30).
    assert row["lift_values"]["back-squat/both/unspecified"]["value_kg"] == Decimal("123.333333")


def test_a_late_log_makes_only_its_own_week_stale(cast: Cast):
    logged(cast)
    refreshed(cast)
    before = rows(cast)
    logged(cast, TUESDAY - 3 * WEEK)
    assert stale(cast) == {(cast.anna.id, MONDAY - 3 * WEEK)}
    refreshed(cast)
    assert stale(cast) == set()
    after = rows(cast)
    assert after.pop((cast.anna.id, MONDAY - 3 * WEEK))["work_sets"] == 2
    assert after == before


@time_machine.travel(NOON, tick=False)
def test_a_correction_of_what_was_done_late_reaches_the_week_that_it_was_planned_for_and_no_other(cast: Cast):
    planned_on = MONDAY - WEEK
    with business_scope(cast.business_id):
        plan = histories.planned(
            histories.assignment(cast.anna, start_date=planned_on),
            planned_on,
            set_slots=["A1", "A1"],
            set_figures=[[3, 0, 1, 0, 5, 1] for _ in range(2)],
            set_loads_kg=[Decimal(80), Decimal(80)],
            planned_reps=10,
            planned_work_sets=2,
        )
    api = cast.key("logs:write")
    sets = [logging.set_(cast.anna, f"s1-{n}", set_number=n, reps=5, slot="A1") for n in (1, 2)]
    done = logging.session(cast.anna, planned_session=str(plan.id), local_date=MONDAY.isoformat())
    logging.post(api, session_logs=[done, logging.session(cast.ben, local_date=MONDAY.isoformat())], set_logs=sets)
    refreshed(cast)
    before = rows(cast)
    assert before[cast.anna.id, planned_on]["adherence_reps"] == 1
    assert before[cast.anna.id, MONDAY]["adherence_reps"] is None
    logging.post(api, set_logs=[logging.set_(cast.anna, "s1-2", set_number=2, reps=3, slot="A1")])
    assert stale(cast) == {(cast.anna.id, planned_on), (cast.anna.id, MONDAY)}
    jobs = [job for job in registry.dispatch_jobs if job.name == "refresh_weeks"]
    run_due_jobs(jobs=jobs, now=NOON, seconds=60)
    after = rows(cast)
    assert {week for week, row in after.items() if row != before[week]} == {
        (cast.anna.id, planned_on),
        (cast.anna.id, MONDAY),
    }
    assert after[cast.anna.id, planned_on]["adherence_reps"] == Decimal("0.8")
    assert (before[cast.anna.id, MONDAY]["reps"], after[cast.anna.id, MONDAY]["reps"]) == (10, 8)


def test_a_late_correction_and_a_deletion_leave_every_other_row_as_it_was_stored(cast: Cast):
    for weeks in range(6):
        logged(cast, TUESDAY - weeks * WEEK)
    refreshed(cast)
    before = as_stored(cast)
    with business_scope(cast.business_id):
        late, gone = (
            SetLog.objects.filter(local_date=TUESDAY - weeks * WEEK, kind="work").order_by("id")[0] for weeks in (4, 2)
        )
    api = cast.api(cast.coach)
    corrected = api.patch(f"/api/v1/set-logs/{late.id}", {"reps": 8}, format="json", headers={"If-Match": "*"})
    assert corrected.status_code == 200, corrected.content
    assert api.delete(f"/api/v1/set-logs/{gone.id}", headers={"If-Match": "*"}).status_code == 204
    jobs = [job for job in registry.dispatch_jobs if job.name == "refresh_weeks"]
    run_due_jobs(jobs=jobs, now=NOON, seconds=60)
    after = as_stored(cast)
    # The very row versions: the other weeks were not even written again.
    assert {week for week in after if after[week] != before[week]} == {MONDAY - 4 * WEEK, MONDAY - 2 * WEEK}
    assert set(before) == set(after)


def as_stored(cast: Cast) -> dict[date, str]:
    """Anna's weekly rows as text, with the transaction and the place of each row version."""
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute(
            "SELECT week_start, xmin::text || ctid::text || c::text FROM logs_clientweek c WHERE client_id = %s",
            [cast.anna.id],
        )
        return dict(cursor.fetchall())


def test_a_late_weigh_in_makes_the_weeks_stale_that_may_move_it(cast: Cast):
    with business_scope(cast.business_id):
        mark_weeks_of_logs(checked_in=[(cast.anna.id, TUESDAY - 3 * WEEK)], week_start=0, now=NOON)
    assert stale(cast) == {(cast.anna.id, MONDAY - weeks * WEEK) for weeks in range(4)}


def test_a_weigh_in_of_before_reaches_the_pull_ups_of_a_later_week(cast: Cast):
    with business_scope(cast.business_id):
        pull_up = histories.exercise(
            "pull-up", loading="bodyweight", bodyweight_share=Decimal("0.95"), load_basis="added"
        )
        session = histories.session(cast.anna, TUESDAY)
        histories.performed(session, pull_up, load_basis="added", load_kg=Decimal(10))
        mark_weeks_of_logs(performed=[(cast.anna.id, TUESDAY)], week_start=0, now=NOON)
    refreshed(cast)
    assert rows(cast)[cast.anna.id, MONDAY]["unknown_load_sets"] == 1
    with business_scope(cast.business_id):
        histories.check_in(cast.anna, TUESDAY - 2 * WEEK, bodyweight_kg=Decimal(80))
        mark_weeks_of_logs(checked_in=[(cast.anna.id, TUESDAY - 2 * WEEK)], week_start=0, now=NOON)
    refreshed(cast)
    row = rows(cast)[cast.anna.id, MONDAY]
    assert (row["unknown_load_sets"], row["tonnage_kg"]) == (0, Decimal(430))


def test_more_help_than_the_body_weighs_moves_nothing_never_less(cast: Cast):
    with business_scope(cast.business_id):
        pull_up = histories.exercise(
            "pull-up", loading="bodyweight", bodyweight_share=Decimal("0.5"), load_basis="added"
        )
        session = histories.session(cast.anna, TUESDAY)
        histories.check_in(cast.anna, TUESDAY, bodyweight_kg=Decimal(80))
        parts = [{"reps": 5, "load_kg": -60}, {"reps": 2, "load_kg": -10}]
        histories.performed(session, pull_up, load_basis="added", load_kg=Decimal(-60))
        histories.performed(session, pull_up, load_basis="added", load_kg=Decimal(-10), segments=parts)
        store_client_weeks(weeks=[(cast.anna.id, MONDAY)])
        (facts,) = week_facts(weeks=[(cast.anna.id, MONDAY)]).values()
    # The first set moves nothing; of the second, its second part 30 kg twice.
    row = rows(cast)[cast.anna.id, MONDAY]
    assert (row["tonnage_kg"], row["unknown_load_sets"]) == (Decimal(60), 0)
    assert weekly_figures(facts).tonnage_kg == Decimal(60)


@pytest.mark.parametrize(("entered", "kept"), [("80.00000050", "80.000000"), ("80.00000150", "80.000002")])
def test_a_mean_half_way_between_two_last_digits_goes_to_the_even_one(cast: Cast, entered: str, kept: str):
    with business_scope(cast.business_id):
        histories.check_in(cast.anna, TUESDAY, bodyweight_kg=Decimal(entered))
        store_client_weeks(weeks=[(cast.anna.id, MONDAY)])
    assert rows(cast)[cast.anna.id, MONDAY]["mean_bodyweight_kg"] == Decimal(kept)


@pytest.mark.parametrize(("days_before", "known"), [(28, True), (29, False)])
def test_a_bodyweight_is_known_for_28_days(cast: Cast, days_before: int, known: bool):
    with business_scope(cast.business_id):
        pull_up = histories.exercise("pull-up", bodyweight_share=Decimal(1), load_basis="added")
        histories.performed(histories.session(cast.anna, MONDAY), pull_up, load_basis="added", load_kg=None)
        histories.check_in(cast.anna, MONDAY - timedelta(days=days_before), bodyweight_kg=Decimal(80))
        store_client_weeks(weeks=[(cast.anna.id, MONDAY)])
    row = rows(cast)[cast.anna.id, MONDAY]
    assert (row["tonnage_kg"], row["unknown_load_sets"]) == ((400, 0) if known else (0, 1))


def test_seven_equal_days_have_no_monotony_and_say_why(cast: Cast):
    with business_scope(cast.business_id):
        for day in range(7):
            histories.session(cast.anna, MONDAY + timedelta(days=day), session_rpe=Decimal(5), duration_min=Decimal(40))
        store_client_weeks(weeks=[(cast.anna.id, MONDAY)])
    row = rows(cast)[cast.anna.id, MONDAY]
    assert (row["monotony"], row["strain"], row["monotony_reason"]) == (None, None, "zero_variance")
    assert row["session_load"] == Decimal(1400)


def test_a_planned_session_that_nobody_logged_makes_its_day_unknown(cast: Cast):
    with business_scope(cast.business_id):
        histories.planned(histories.assignment(cast.anna), TUESDAY, state="missed")
        store_client_weeks(weeks=[(cast.anna.id, MONDAY)])
    row = rows(cast)[cast.anna.id, MONDAY]
    assert (row["days_unknown"], row["monotony_reason"], row["adherence_sessions"]) == (1, "unknown_days", 0)


def test_a_week_whose_logs_are_all_deleted_loses_its_row(cast: Cast):
    with business_scope(cast.business_id):
        check_in = histories.check_in(cast.anna, TUESDAY, sleep=3)
        mark_weeks_of_logs(checked_in=[(cast.anna.id, TUESDAY)], week_start=0, now=NOON)
    refreshed(cast)
    assert rows(cast)[cast.anna.id, MONDAY]["mean_sleep"] == 3
    with business_scope(cast.business_id):
        CheckIn.objects.filter(id=check_in.id).update(deleted_at=NOON)
        mark_weeks_of_logs(checked_in=[(cast.anna.id, TUESDAY)], week_start=0, now=NOON)
    refreshed(cast)
    assert rows(cast) == {}


def test_refreshing_again_changes_no_row(cast: Cast):
    logged(cast)
    refreshed(cast)
    with business_scope(cast.business_id):
        assert store_client_weeks(weeks=[(cast.anna.id, MONDAY)]) == 0


@pytest.mark.parametrize(
    "sets",
    [
        # A part without repetitions has no load to miss.
        [{"segments": [{"reps": 0}, {"reps": 3, "load_kg": 40}], "load_kg": None}],
        [{"segments": [{"reps": 2}, {"reps": 3, "load_kg": 40}], "load_kg": None}],
        # Of one line, once with the body's weight in it and once without.
        [{"load_kg": Decimal(200), "in_reserve": Decimal(1)}, {"load_basis": "added", "in_reserve": Decimal(1)}],
        [{"load_basis": "added", "load_kg": Decimal("-12.5"), "reps": 1, "in_reserve": Decimal(0)}],
        [{"side": "left", "set_number": 1}, {"side": "right", "set_number": 1, "in_reserve": Decimal(2)}],
        [{"rpe": Decimal("9.7")}, {"rpe": Decimal(6)}, {"rpe": Decimal("6.5")}],
    ],
)
def test_awkward_sets_come_to_what_the_reference_says(cast: Cast, sets: list[dict[str, Any]]):
    with business_scope(cast.business_id):
        pull_up = histories.exercise("pull-up", bodyweight_share=Decimal("0.95"), load_basis="added")
        histories.check_in(cast.anna, MONDAY, bodyweight_kg=Decimal("71.3"))
        session = histories.session(cast.anna, TUESDAY)
        for fields in sets:
            histories.performed(session, pull_up, **fields)
        store_client_weeks(weeks=[(cast.anna.id, MONDAY)])
        assert histories.rows_by_week() == histories.reference_rows([(cast.anna.id, MONDAY)])


def test_the_planner_is_left_as_it_was_found(cast: Cast):
    with business_scope(cast.business_id), connection.cursor() as cursor:
        cursor.execute("SET LOCAL jit = on")
        store_client_weeks(weeks=[(cast.anna.id, MONDAY)])
        cursor.execute("SELECT current_setting('enable_nestloop'), current_setting('jit')")
        assert cursor.fetchone() == ("on", "on")


def test_after_the_week_start_has_moved_the_rows_are_those_of_the_new_weeks(cast: Cast):
    logged(cast, MONDAY)
    refreshed(cast)
    with business_scope(cast.business_id):
        Business.objects.filter(id=cast.business_id).update(week_start=6)
        follow_business_policy(frozenset({"week_start"}), NOON)
    refreshed(cast)
    assert set(rows(cast)) == {(cast.anna.id, MONDAY - timedelta(days=1))}


@pytest.mark.parametrize("week_start", [6, 3])
def test_an_owner_who_moves_the_week_start_gets_the_rows_that_a_rebuild_gives(cast: Cast, week_start: int):
    for days in (0, 3, 6, 7, 13):
        logged(cast, MONDAY - timedelta(days=days))
    refreshed(cast)
    before = rows(cast)
    answer = cast.api(cast.owner).patch(
        "/api/v1/business", {"week_start": week_start}, format="json", headers={"If-Match": "*"}
    )
    assert answer.status_code == 200, answer.content
    jobs = [job for job in registry.dispatch_jobs if job.name == "refresh_weeks"]
    run_due_jobs(jobs=jobs, now=NOON, seconds=60)
    found = rows(cast)
    assert {week.weekday() for _client_id, week in found} == {week_start}
    assert sum(row["work_sets"] for row in found.values()) == sum(row["work_sets"] for row in before.values()) == 10
    rebuild_weeks(cast.business_id, NOON)
    assert rows(cast) == found


def test_the_rebuild_command_corrects_what_does_not_follow_from_the_facts(cast: Cast):
    logged(cast)
    logged(cast, TUESDAY - WEEK)
    refreshed(cast)
    right = rows(cast)
    with business_scope(cast.business_id):
        ClientWeek.objects.filter(week_start=MONDAY).update(tonnage_kg=1)
        ClientWeek.objects.create(client=cast.ben, week_start=MONDAY, work_sets=9)
    told = StringIO()
    call_command("rebuild_weeks", business=cast.business_id, stdout=told)
    assert told.getvalue() == f"{cast.business_id}: 3 weeks, 2 corrected\n"
    assert rows(cast) == right
    assert stale(cast) == set()


def test_one_business_is_refreshed_without_touching_the_other(cast: Cast, neighbour: Cast):
    logged(cast)
    logged(neighbour)
    refreshed(cast)
    assert rows(neighbour) == {}
    assert stale(neighbour) == {(neighbour.anna.id, MONDAY)}


@pytest.mark.parametrize("weeks", [2, 200])
def test_a_refresh_takes_the_same_statements_for_few_weeks_and_for_many(cast: Cast, weeks: int):
    with business_scope(cast.business_id):
        clients = Client.objects.bulk_create(
            Client(name=f"Client {number}", coach=cast.coach, time_zone="Europe/Paris", unit="kg")
            for number in range(weeks // 2)
        )
        dated = [(client, day) for client in clients for day in (TUESDAY, TUESDAY - WEEK)]
        CheckIn.objects.bulk_create(
            CheckIn(**histories.log_fields(client, day), sleep=3, symptoms=["dizziness"]) for client, day in dated
        )
        mark_weeks_of_logs(performed=[(client.id, day) for client, day in dated], week_start=0, now=NOON)
    with CaptureQueriesContext(connection) as captured:
        refresh_weeks(cast.business_id, NOON)
    assert len(rows(cast)) == weeks
    assert len(captured) == 41


@pytest.mark.parametrize(
    "value", ["0.0000005", "0.0000015", "-2.5000005", "2.50000050000001", "7", "-0.0000025", "1e6"]
)
@pytest.mark.django_db
def test_the_database_rounds_as_the_pure_reference_does(value: str):
    with connection.cursor() as cursor:
        cursor.execute("SELECT round_half_even(%s::numeric, 6)", [value])
        assert cursor.fetchone()[0] == round_half_even_6(Decimal(value))


class TestAtOnce:
    """Several connections, real commits."""

    @pytest.fixture
    def many(self, committed: None) -> Cast:
        cast = build_business("Northern Iron")
        for weeks in range(30):
            logged(cast, TUESDAY - weeks * WEEK)
        return cast

    def test_two_refreshers_leave_the_rows_of_one(self, many: Cast):
        start = Barrier(2)

        def refresh() -> None:
            start.wait(10)
            refreshed(many)

        _run(refresh, refresh)
        refreshed(many)
        with business_scope(many.business_id):
            pairs = [(many.anna.id, MONDAY - weeks * WEEK) for weeks in range(30)]
            assert histories.rows_by_week() == histories.reference_rows(pairs)
        assert stale(many) == set()

    def test_weeks_that_another_refresher_has_claimed_are_left_to_it(self, many: Cast):
        with business_scope(many.business_id):
            claimed = take_stale_weeks(limit=20)
        assert refresh_weeks(many.business_id, NOON) is False
        assert stale(many) == {(mark.client_id, mark.week_start) for mark in claimed}

    def test_a_claimant_that_died_is_followed_by_another(self, many: Cast):
        with business_scope(many.business_id):
            take_stale_weeks(limit=200)
            StaleWeek.objects.update(claimed_until=datetime(2000, 1, 1, tzinfo=UTC))
        refreshed(many)
        assert stale(many) == set()

    def test_a_log_does_not_wait_for_a_refresh_and_its_mark_survives_it(self, many: Cast):
        with business_scope(many.business_id):
            marks = take_stale_weeks(limit=200)
        with business_scope(many.business_id):
            store_client_weeks(weeks=[(mark.client_id, mark.week_start) for mark in marks])
            # Another connection, while this transaction is open: a lock held here would time out there.
            _run(lambda: logged(many))
            clear_stale_weeks(marks=marks)
        assert stale(many) == {(many.anna.id, MONDAY)}
        refreshed(many)
        assert stale(many) == set()

    def test_a_mark_of_a_later_generation_is_not_cleared(self, many: Cast):
        with business_scope(many.business_id):
            marks = take_stale_weeks(limit=200)
            mark_stale(weeks=[(many.anna.id, MONDAY)], now=NOON)
            clear_stale_weeks(marks=marks)
        assert stale(many) == {(many.anna.id, MONDAY)}


def _closing(work: Any) -> Any:
    def run() -> None:
        try:
            work()
        finally:
            connections.close_all()

    return run


def _run(*works: Any) -> None:
    threads = [Thread(target=_closing(work)) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert not any(thread.is_alive() for thread in threads)


def _overfull_week(cast: Cast) -> None:
    """A week of Anna's whose tonnage no column holds."""
    with business_scope(cast.business_id):
        squat = histories.exercise("back-squat")
        session = histories.session(cast.anna, TUESDAY - 2 * WEEK)
        for _ in range(40):
            histories.performed(session, squat, reps=32_767, load_kg=Decimal(999_999))
        mark_weeks_of_logs(performed=[(cast.anna.id, TUESDAY - 2 * WEEK)], week_start=0, now=NOON)


def _claims_run_out(cast: Cast) -> None:
    with business_scope(cast.business_id):
        StaleWeek.objects.update(claimed_until=None)


def test_a_week_that_can_not_be_computed_is_set_aside_and_the_others_go_on(
    cast: Cast, caplog: pytest.LogCaptureFixture
):
    _overfull_week(cast)
    for weeks in range(5):
        logged(cast, TUESDAY - (3 + weeks) * WEEK)
    logged(cast)
    refreshed(cast)
    assert {week for _client_id, week in rows(cast)} == {MONDAY - weeks * WEEK for weeks in (0, 3, 4, 5, 6, 7)}
    assert stale(cast) == {(cast.anna.id, MONDAY - 2 * WEEK)}
    with business_scope(cast.business_id):
        assert StaleWeek.objects.get().failures == 1
    assert [record.levelname for record in caplog.records] == ["ERROR"]


def test_a_week_that_failed_five_times_is_left_alone_with_an_alarm_until_it_changes(
    cast: Cast, caplog: pytest.LogCaptureFixture
):
    _overfull_week(cast)
    for _ in range(7):
        refreshed(cast)
        _claims_run_out(cast)
    assert [record.levelname for record in caplog.records].count("CRITICAL") == 1
    assert [record.levelname for record in caplog.records].count("ERROR") == 5
    assert list_businesses_with_stale_weeks(NOON) == []
    with business_scope(cast.business_id):
        SetLog.objects.update(deleted_at=NOON)
        mark_weeks_of_logs(performed=[(cast.anna.id, TUESDAY - 2 * WEEK)], week_start=0, now=NOON)
    assert list_businesses_with_stale_weeks(NOON) == [cast.business_id]
    refreshed(cast)
    assert stale(cast) == set()


def test_a_refreshed_catalogue_counts_other_muscles_and_leaves_stored_loads_as_they_were(cast: Cast):
    logged(cast)
    refreshed(cast)
    with business_scope(cast.business_id):
        Exercise.objects.filter(key="back-squat").update(origin="shared")
    before = rows(cast)[cast.anna.id, MONDAY]
    squat = next(entry for entry in load_entries() if entry.key == "back-squat")
    changes = {
        "primary_muscles": squat.secondary_muscles,
        "secondary_muscles": (),
        "load_basis": type(squat.load_basis)("each_hand"),
    }
    with business_scope(cast.business_id):
        refresh_catalogue(business_id=cast.business_id, now=NOON, entries=[squat.model_copy(update=changes)])
    assert stale(cast) == {(cast.anna.id, MONDAY)}
    refreshed(cast)
    after = rows(cast)[cast.anna.id, MONDAY]
    assert after["muscle_sets"] != before["muscle_sets"]
    assert "quadriceps" not in after["muscle_sets"]
    assert after["tonnage_kg"] == before["tonnage_kg"] == Decimal(1000)
