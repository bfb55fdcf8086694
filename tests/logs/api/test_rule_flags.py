"""`/flags` of how training goes: programs that run out, sessions cut short or too long, effort, tempo."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Absence, Client
from coaching.tenancy.scope import business_scope
from logs.actions.flags import evaluate_flags, flags_of_the_day
from tests.logs import histories
from tests.scenario import NOON, Cast

TODAY = NOON.date()
DAY = timedelta(days=1)
TEMPO = {
    "slot_key": "A1",
    "exercise": "tempo-squat",
    "sets": [{"count": 4, "kind": "work", "reps_low": 5, "tempo": "4010", "rpe": 7}],
}
PLAN = {"blocks": [{"kind": "straight", "label": "A", "slots": [TEMPO]}]}


def listed(cast: Cast, query: str = "") -> list[dict[str, Any]]:
    answer = cast.api(cast.coach).get(f"/api/v1/flags{query}")
    assert answer.status_code == 200, answer.content
    return list(answer.json()["items"])


def standing(cast: Cast, kind: str) -> list[dict[str, Any]]:
    return listed(cast, f"?kind={kind}&state=open,acknowledged")


def resolve(cast: Cast, flag: dict[str, Any]) -> None:
    answer = cast.api(cast.coach).post(f"/api/v1/flags/{flag['id']}/resolve", {"resolution": "Spoken."}, format="json")
    assert answer.status_code == 200, answer.content


def logged(cast: Cast, client: Client, now: datetime = NOON) -> None:
    """Ask the rules about a client, as the refresh after a log does."""
    with business_scope(cast.business_id):
        evaluate_flags(client_ids=[client.id], now=now)


def sessions(cast: Cast, client: Client, *states: str, minutes: int = 45, first_ago: int = 12) -> None:
    """Planned sessions two days apart with their logs, and one far ahead."""
    with business_scope(cast.business_id):
        given = histories.assignment(client, start_date=TODAY - 30 * DAY)
        for index, state in enumerate(states):
            day = TODAY - (first_ago - 2 * index) * DAY
            planned = histories.planned(given, day, state=state, performed_on=day)
            histories.session(client, day, planned_session=planned, duration_min=Decimal(minutes))
        histories.planned(given, TODAY + 30 * DAY)


def lifted(cast: Cast, client: Client, *efforts: float, last_ago: int = 0, **more: Any) -> None:
    """Sessions three days apart with two sets of 100 kg for five."""
    with business_scope(cast.business_id):
        squat = histories.exercise("creep-squat")
        for index, rpe in enumerate(efforts):
            log = histories.session(client, TODAY - (last_ago + 3 * (len(efforts) - 1 - index)) * DAY)
            for _ in range(2):
                histories.performed(log, squat, rpe=Decimal(str(rpe)), **more)


def measured(cast: Cast, client: Client, *eccentrics: str) -> None:
    """Sessions two days apart of four sets at 4010, the eccentric as a device measured it."""
    with business_scope(cast.business_id):
        squat = histories.exercise("tempo-squat", restful_end="shortened", starts_at="shortened")
        given = histories.assignment(client, start_date=TODAY - 30 * DAY)
        for index, seconds in enumerate(eccentrics):
            day = TODAY - 2 * (len(eccentrics) - 1 - index) * DAY
            planned = histories.planned(given, day, state="done", prescribed=PLAN)
            log = histories.session(client, day, planned_session=planned)
            phases = {"eccentric": float(seconds), "lengthened": 0, "concentric": 1.0, "shortened": 0}
            for _ in range(4):
                histories.performed(log, squat, slot_key="A1", phase_s=phases, phase_source="device")


class TestProgramsRunningOut:
    """`program_runs_out`."""

    def _written(self, cast: Cast, days: int) -> Any:
        with business_scope(cast.business_id):
            given = histories.assignment(cast.anna, start_date=TODAY - DAY)
            histories.planned(given, TODAY + days * DAY)
            return given

    def test_it_opens_ten_days_before_the_end_and_closes_when_more_is_written(self, cast: Cast):
        given = self._written(cast, 11)
        flags_of_the_day(cast.business_id, NOON)
        assert standing(cast, "program_runs_out") == []
        flags_of_the_day(cast.business_id, NOON + DAY)
        (flag,) = standing(cast, "program_runs_out")
        assert (flag["client"], flag["severity"], flag["action"]) == (str(cast.anna.id), "note", "note")
        assert flag["figures"] == {"written_until": (TODAY + 11 * DAY).isoformat(), "days_left": 10}
        assert flag["rule"]
        assert flag["cautions"]
        with business_scope(cast.business_id):
            histories.planned(given, TODAY + 40 * DAY)
        flags_of_the_day(cast.business_id, NOON + 2 * DAY)
        assert [one["state"] for one in listed(cast, "?kind=program_runs_out")] == ["closed"]

    def test_settled_by_a_coach_it_stays_closed_until_the_end_is_another(self, cast: Cast):
        given = self._written(cast, 5)
        flags_of_the_day(cast.business_id, NOON)
        resolve(cast, standing(cast, "program_runs_out")[0])
        flags_of_the_day(cast.business_id, NOON + DAY)
        assert standing(cast, "program_runs_out") == []
        with business_scope(cast.business_id):
            histories.planned(given, TODAY + 8 * DAY)
        flags_of_the_day(cast.business_id, NOON + 2 * DAY)
        assert len(standing(cast, "program_runs_out")) == 1

    def test_of_an_ended_assignment_nothing_runs_out(self, cast: Cast):
        given = self._written(cast, 5)
        with business_scope(cast.business_id):
            given.state = "ended"
            given.save()
        flags_of_the_day(cast.business_id, NOON)
        assert standing(cast, "program_runs_out") == []

    def test_as_a_note_it_does_not_change_the_verdict_of_the_day(self, cast: Cast):
        self._written(cast, 5)
        flags_of_the_day(cast.business_id, NOON)
        (row,) = (
            row
            for row in cast.api(cast.coach).get("/api/v1/overview").json()["items"]
            if row["client"] == str(cast.anna.id)
        )
        assert [flag["kind"] for flag in row["flags"]] == ["program_runs_out"]
        assert row["readiness"]["verdict"] != "watch"


class TestSessionLengths:
    """`sessions_cut_short` and `session_too_long`, asked at each log."""

    def test_three_of_five_cut_short_open_it_and_whole_sessions_close_it(self, cast: Cast):
        sessions(cast, cast.anna, "part_done", "done", "part_done", "done", "part_done")
        logged(cast, cast.anna)
        (flag,) = standing(cast, "sessions_cut_short")
        assert (flag["severity"], flag["action"], flag["figures"]["found"]) == ("watch", "note", 3)
        sessions(cast, cast.anna, "done", "done", first_ago=2)
        logged(cast, cast.anna)
        assert [one["state"] for one in listed(cast, "?kind=sessions_cut_short")] == ["closed"]

    def test_settled_it_opens_anew_only_with_another_session_cut_short(self, cast: Cast):
        sessions(cast, cast.anna, "part_done", "part_done", "part_done")
        logged(cast, cast.anna)
        resolve(cast, standing(cast, "sessions_cut_short")[0])
        logged(cast, cast.anna)
        assert standing(cast, "sessions_cut_short") == []
        sessions(cast, cast.anna, "part_done", first_ago=1)
        logged(cast, cast.anna)
        assert len(standing(cast, "sessions_cut_short")) == 1

    def test_sessions_on_absent_days_do_not_count(self, cast: Cast):
        sessions(cast, cast.anna, "part_done", "part_done", "part_done")
        with business_scope(cast.business_id):
            Absence.objects.create(
                client=cast.anna, starts_on=TODAY - 12 * DAY, ends_on=TODAY - 11 * DAY, kind="travel"
            )
        logged(cast, cast.anna)
        assert standing(cast, "sessions_cut_short") == []

    def test_sessions_a_quarter_over_their_planned_high_time_are_too_long(self, cast: Cast):
        sessions(cast, cast.anna, "done", "done", "done", minutes=63)
        sessions(cast, cast.ben, "done", "done", "done", minutes=62)
        for client in (cast.anna, cast.ben):
            logged(cast, client)
        (flag,) = standing(cast, "session_too_long")
        assert (flag["client"], flag["severity"]) == (str(cast.anna.id), "note")
        assert flag["figures"]["minutes"][0] == f"{TODAY - 12 * DAY}: 63 of 50"


class TestEffort:
    """`effort_creep`, asked once a local day."""

    def test_a_lift_that_costs_a_point_more_twice_running_is_flagged_with_its_own_scope(self, cast: Cast):
        lifted(cast, cast.anna, 7, 7, 7, 7, 8, 8)
        lifted(cast, cast.ben, 7, 7.5, 7, 7, 7.5, 7.5)
        flags_of_the_day(cast.business_id, NOON)
        (flag,) = standing(cast, "effort_creep")
        assert (flag["client"], flag["scope"]) == (str(cast.anna.id), "exercise:creep-squat")
        assert (flag["severity"], flag["action"]) == ("watch", "no_increase")
        assert flag["figures"]["rises_rpe"] == [f"{TODAY - 3 * DAY}: +1.0", f"{TODAY}: +1.0"]
        assert "no diagnosis" in flag["cautions"][0]

    def test_reserve_and_exertion_are_one_scale(self, cast: Cast):
        lifted(cast, cast.anna, 7, 7, 7, 7, last_ago=6)
        with business_scope(cast.business_id):
            squat = histories.exercise("creep-squat")
            for ago in (3, 0):
                histories.performed(histories.session(cast.anna, TODAY - ago * DAY), squat, in_reserve=Decimal(2))
        flags_of_the_day(cast.business_id, NOON)
        assert len(standing(cast, "effort_creep")) == 1

    @pytest.mark.parametrize("asked", [7, 8])
    def test_effort_that_the_plan_asked_for_is_no_creep(self, cast: Cast, asked: int):
        slot = {"slot_key": "A1", "exercise": "creep-squat"}
        with business_scope(cast.business_id):
            squat = histories.exercise("creep-squat")
            given = histories.assignment(cast.anna)
            for index, rpe in enumerate((7, 7, 7, 7, 8, 8)):
                sets = [{"count": 1, "kind": "work", "reps_low": 5, "rpe": 7 if index < 4 else asked}]
                day = TODAY - 3 * (5 - index) * DAY
                prescribed = {"blocks": [{"kind": "straight", "label": "A", "slots": [{**slot, "sets": sets}]}]}
                planned = histories.planned(given, day, state="done", prescribed=prescribed)
                log = histories.session(cast.anna, day, planned_session=planned)
                histories.performed(log, squat, slot_key="A1", rpe=Decimal(rpe))
        flags_of_the_day(cast.business_id, NOON)
        assert len(standing(cast, "effort_creep")) == (asked == 7)

    @pytest.mark.parametrize(
        "more", [{"kind": "warm_up"}, {"outcome": "skipped"}, {"load_kg": None}], ids=["warm-up", "skipped", "no load"]
    )
    def test_sets_that_say_nothing_of_it_are_not_looked_at(self, cast: Cast, more: dict[str, Any]):
        lifted(cast, cast.anna, 7, 7, 7, 7, 8, 8, **more)
        flags_of_the_day(cast.business_id, NOON)
        assert standing(cast, "effort_creep") == []

    def test_a_log_leaves_it_to_the_next_day(self, cast: Cast):
        flags_of_the_day(cast.business_id, NOON)
        lifted(cast, cast.anna, 7, 7, 7, 7, 8, 8)
        with CaptureQueriesContext(connection) as captured:
            logged(cast, cast.anna)
        assert not [one for one in captured if "logs_setlog" in one["sql"] and "jsonb_path_query" in one["sql"]]
        assert standing(cast, "effort_creep") == []
        logged(cast, cast.anna, NOON + DAY)
        assert len(standing(cast, "effort_creep")) == 1

    def test_a_log_does_not_close_what_was_found_in_the_morning_and_the_next_days_do(self, cast: Cast):
        lifted(cast, cast.anna, 7, 7, 7, 7, 8, 8)
        flags_of_the_day(cast.business_id, NOON)
        logged(cast, cast.anna, NOON + timedelta(hours=1))
        assert len(standing(cast, "effort_creep")) == 1
        flags_of_the_day(cast.business_id, NOON + 15 * DAY)
        assert [one["state"] for one in listed(cast, "?kind=effort_creep")] == ["closed"]


class TestTempo:
    """`tempo_faults`, asked once a local day."""

    def test_a_lift_rushed_in_its_last_three_measured_sessions_is_flagged(self, cast: Cast):
        measured(cast, cast.anna, "4.1", "2.0", "2.1", "1.9")
        measured(cast, cast.ben, "2.0", "4.0", "3.9", "4.2")
        flags_of_the_day(cast.business_id, NOON)
        (flag,) = standing(cast, "tempo_faults")
        assert (flag["client"], flag["scope"]) == (str(cast.anna.id), "exercise:tempo-squat")
        assert (flag["severity"], flag["figures"]["faulty_sets"], flag["figures"]["sets"]) == ("note", 12, 12)

    def test_two_measured_sessions_are_too_few(self, cast: Cast):
        measured(cast, cast.anna, "2.0", "2.1")
        flags_of_the_day(cast.business_id, NOON)
        assert standing(cast, "tempo_faults") == []


def test_the_rules_of_the_day_take_the_same_statements_for_one_client_and_for_many(cast: Cast):
    def statements(now: datetime) -> int:
        with CaptureQueriesContext(connection) as captured:
            flags_of_the_day(cast.business_id, now)
        return sum(one["sql"].lstrip().startswith(("SELECT", "WITH")) for one in captured)

    clients = (cast.anna, cast.ben, cast.carl)
    measured(cast, cast.anna, "2.0", "2.0", "2.0")
    flags_of_the_day(cast.business_id, NOON)
    one = statements(NOON + DAY)
    for client in clients:
        measured(cast, client, "4.0", "4.0", "4.0")
        lifted(cast, client, 7, 7, 7)
        sessions(cast, client, "done", "done")
    flags_of_the_day(cast.business_id, NOON + 2 * DAY)
    assert statements(NOON + 3 * DAY) == one
