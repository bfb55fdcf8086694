"""`GET /overview`: who sees whom, where each stands today by their own clock, and the order of the page."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.models import Absence, Client, StaleWeek
from coaching.tenancy.scope import business_scope
from logs.actions.flags import flags_of_the_day
from programs.models import AssignmentPause, CalendarKind
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.planned_sessions import plan_session
from tests.scenario import NOON, Cast

PATH = "/api/v1/overview"
TODAY = date(2031, 3, 5)
MONDAY, FRIDAY = date(2031, 3, 3), date(2031, 3, 7)


@pytest.fixture(autouse=True)
def wednesday_noon() -> Iterator[None]:
    """Callers sign in at the time that the tests are about."""
    with time_machine.travel(NOON, tick=False):
        yield


def page(api: Any, query: str = "", now: datetime = NOON) -> dict[str, Any]:
    with time_machine.travel(now, tick=False):
        answer = api.get(f"{PATH}{query}")
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def line(cast: Cast, client: Client, now: datetime = NOON) -> dict[str, Any]:
    """One client's line, as the owner reads it who signs in then."""
    cast.tokens.clear()
    with time_machine.travel(now, tick=False):
        items = page(cast.api(cast.owner), now=now)["items"]
    (found,) = [item for item in items if item["client"] == str(client.id)]
    return dict(found)


def plan_week(client: Client, **states: str) -> None:
    """Monday, Wednesday and Friday of this week, and a program written on for weeks."""
    for day, state in ((MONDAY, "monday"), (TODAY, "wednesday"), (FRIDAY, "friday")):
        plan_session(client, day, state=states.get(state, "planned"))
    plan_session(client, TODAY + timedelta(days=30))


def add_clients(cast: Cast, count: int) -> None:
    for number in range(count):
        client = Client.objects.create(
            name=f"Client {number:02}", coach=cast.coach, time_zone="Europe/Paris", unit="kg"
        )
        plan_session(client, TODAY)
        histories.session(client, MONDAY)
        histories.check_in(client, TODAY, symptoms=["dizziness"])


def test_a_client_who_trains_to_plan_reads_as_such(cast: Cast):
    with business_scope(cast.business_id):
        plan_week(cast.anna, monday="done")
        histories.session(cast.anna, MONDAY, session_rpe=7)
        histories.check_in(cast.anna, MONDAY, sleep=2, resting_hr_bpm=52)
    flags_of_the_day(cast.business_id, NOON)
    found = line(cast, cast.anna)
    assert found["state_today"] == "due"
    assert (found["name"], found["coach_name"], found["local_date"]) == ("Anna", "Cora", "2031-03-05")
    assert (found["last_contact_on"], found["last_contact_days"]) == ("2031-03-03", 2)
    assert found["week"] == {
        "week_start": "2031-03-03",
        "sessions_planned": 3,
        "sessions_done": 1,
        "sessions_part_done": 0,
        "sessions_done_late": 0,
        "sessions_missed": 0,
        "sessions_excused": 0,
    }
    assert found["flags"] == []
    assert (found["readiness"]["verdict"], found["readiness"]["reason"]) == ("nothing_noted", None)
    assert found["readiness"]["not_measured"] == ["heart_rate_variability"]
    assert found["written_until"] == "2031-04-04"
    assert found["attention"] == "none"


def test_a_client_of_whom_nothing_is_known_is_unknown_and_has_nothing_written(cast: Cast):
    flags_of_the_day(cast.business_id, NOON)
    found = line(cast, cast.anna)
    assert found["state_today"] == "not_planned"
    assert (found["last_contact_on"], found["last_contact_days"], found["written_until"]) == (None, None, None)
    assert (found["readiness"]["verdict"], found["readiness"]["reason"]) == ("unknown", "nothing_planned")
    assert len(found["readiness"]["not_measured"]) == 5
    assert found["attention"] == "runs_out"


def test_a_log_of_today_is_having_trained_until_it_is_deleted(cast: Cast):
    with business_scope(cast.business_id):
        plan_week(cast.anna)
        log = histories.session(cast.anna, TODAY)
    assert line(cast, cast.anna)["state_today"] == "trained"
    with business_scope(cast.business_id):
        log.deleted_at = NOON
        log.save()
    found = line(cast, cast.anna)
    assert (found["state_today"], found["last_contact_on"]) == ("due", None)


def test_a_session_that_passed_unlogged_is_missing_before_any_job_has_marked_it(cast: Cast):
    with business_scope(cast.business_id):
        plan_session(cast.anna, MONDAY)
        plan_session(cast.anna, FRIDAY)
    within_grace = datetime(2031, 3, 4, 4, 30, tzinfo=UTC)
    assert line(cast, cast.anna, now=within_grace)["state_today"] == "due"
    found = line(cast, cast.anna, now=within_grace + timedelta(hours=1))
    assert (found["state_today"], found["week"]["sessions_missed"], found["attention"]) == ("missing", 1, "missed")


def test_the_day_is_the_clients_own_and_ends_when_the_business_says(cast: Cast):
    with business_scope(cast.business_id):
        for client in (cast.anna, cast.ben):
            plan_session(client, TODAY)
    night = datetime(2031, 3, 6, 3, 30, tzinfo=UTC)
    # 04:30 in Paris is past the end of the day, 21:30 in Chicago is the evening before.
    assert line(cast, cast.anna, now=night)["local_date"] == "2031-03-06"
    assert (line(cast, cast.ben, now=night)["local_date"], line(cast, cast.ben, now=night)["state_today"]) == (
        "2031-03-05",
        "due",
    )
    assert line(cast, cast.anna, now=night - timedelta(hours=1))["local_date"] == "2031-03-05"


def test_the_week_is_the_one_in_which_the_client_is(cast: Cast):
    with business_scope(cast.business_id):
        for client in (cast.anna, cast.ben):
            plan_session(client, date(2031, 3, 9), state="missed")
            plan_session(client, date(2031, 3, 10))
    # Monday morning in Paris, Sunday night in Chicago.
    monday = datetime(2031, 3, 10, 4, tzinfo=UTC)
    weeks = {name: line(cast, client, now=monday)["week"] for name, client in (("anna", cast.anna), ("ben", cast.ben))}
    assert (weeks["anna"]["week_start"], weeks["anna"]["sessions_missed"]) == ("2031-03-10", 0)
    assert (weeks["ben"]["week_start"], weeks["ben"]["sessions_missed"]) == ("2031-03-03", 1)


def test_floating_sessions_are_due_while_one_of_the_week_is_open(cast: Cast):
    sunday = date(2031, 3, 9)
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna, calendar=CalendarKind.ANY_DAYS_IN_WEEK)
        due = {"window_start": MONDAY, "due_at": datetime(2031, 3, 10, 5, tzinfo=UTC)}
        histories.planned(given, sunday, **due | {"state": "done", "performed_on": MONDAY})
        waiting = histories.planned(given, sunday, **due)
        histories.session(cast.anna, MONDAY)
    flags_of_the_day(cast.business_id, NOON)
    found = line(cast, cast.anna)
    assert (found["state_today"], found["readiness"]["verdict"]) == ("due", "nothing_noted")
    with business_scope(cast.business_id):
        waiting.state, waiting.performed_on = "done", TODAY - timedelta(days=1)
        waiting.save()
    assert line(cast, cast.anna)["state_today"] == "resting"


@pytest.mark.parametrize("how", ["absence", "pause", "client paused"])
def test_who_is_away_is_neither_missing_nor_running_out(cast: Cast, how: str):
    with business_scope(cast.business_id):
        session = plan_session(cast.anna, TODAY - timedelta(days=1), state="missed")
        if how == "absence":
            Absence.objects.create(
                client=cast.anna, starts_on=MONDAY, ends_on=FRIDAY, kind="holiday", treatment="as_planned"
            )
        elif how == "pause":
            AssignmentPause.objects.create(assignment=session.assignment, from_date=TODAY)
        else:
            Client.objects.filter(id=cast.anna.id).update(state="paused")
    found = line(cast, cast.anna)
    assert (found["state_today"], found["attention"]) == ("away", "none")
    assert found["readiness"]["verdict"] == "unknown"


def test_one_paused_program_of_two_is_not_being_away(cast: Cast):
    with business_scope(cast.business_id):
        plan_week(cast.anna, monday="done", wednesday="excused")
        paused = histories.assignment(cast.anna)
        AssignmentPause.objects.create(assignment=paused, from_date=MONDAY)
        histories.session(cast.anna, MONDAY)
    assert line(cast, cast.anna)["state_today"] == "resting"


def test_a_session_missed_on_an_absent_day_asks_for_nothing(cast: Cast):
    with business_scope(cast.business_id):
        plan_week(cast.anna, monday="missed")
        histories.session(cast.anna, MONDAY + timedelta(days=1))
        Absence.objects.create(client=cast.anna, starts_on=MONDAY, ends_on=MONDAY, kind="ill", treatment="as_planned")
    flags_of_the_day(cast.business_id, NOON)
    found = line(cast, cast.anna)
    assert (found["week"]["sessions_missed"], found["attention"]) == (1, "none")


def test_flags_make_the_verdict_with_their_scope_and_words(cast: Cast):
    pain = {"site": "shoulder", "side": "left", "score": 7, "when": "during", "onset": "known", "exercise": None}
    with business_scope(cast.business_id):
        plan_week(cast.anna, monday="done")
        histories.session(cast.anna, MONDAY)
        histories.check_in(cast.anna, TODAY, pains=[pain])
    flags_of_the_day(cast.business_id, NOON)
    found = line(cast, cast.anna)
    (flag,) = found["flags"]
    assert (flag["kind"], flag["severity"], flag["action"], flag["scope"], flag["state"]) == (
        "pain",
        "stop",
        "stop_movement",
        "region:shoulder:left",
        "open",
    )
    assert "left shoulder" in flag["sentence"]
    assert "not a diagnosis" in flag["cautions"][0]
    assert (found["readiness"]["verdict"], found["readiness"]["scopes"]) == ("stop", ["region:shoulder:left"])
    assert found["attention"] == "stop"
    api = cast.api(cast.coach)
    assert api.post(f"/api/v1/flags/{flag['id']}/resolve", {}, format="json").status_code == 200
    settled = line(cast, cast.anna)
    assert (settled["flags"], settled["readiness"]["verdict"]) == ([], "nothing_noted")


def test_nothing_is_noted_only_once_the_rules_have_been_asked(cast: Cast):
    with business_scope(cast.business_id):
        plan_week(cast.anna, monday="done")
        histories.session(cast.anna, MONDAY)
    assert line(cast, cast.anna)["readiness"]["reason"] == "not_evaluated"
    flags_of_the_day(cast.business_id, NOON)
    assert line(cast, cast.anna)["readiness"]["verdict"] == "nothing_noted"
    with business_scope(cast.business_id):
        StaleWeek.objects.create(client=cast.anna, week_start=MONDAY, marked_at=NOON)
    found = line(cast, cast.anna)
    assert (found["being_refreshed"], found["readiness"]["reason"]) == (True, "not_evaluated")
    with business_scope(cast.business_id):
        StaleWeek.objects.all().delete()
    assert line(cast, cast.anna, now=NOON + timedelta(days=1))["readiness"]["reason"] == "not_evaluated"


def test_the_page_runs_from_stop_to_the_rest_and_then_by_name(cast: Cast):
    with business_scope(cast.business_id):
        # By name against the order: Zoe is the most urgent; the two with nothing to say follow by name.
        zoe, alf, yan, wim = (
            Client.objects.create(name=name, coach=cast.coach, time_zone="Europe/Paris", unit="kg")
            for name in ("Zoe", "alf", "Yan", "Wim")
        )
        histories.check_in(zoe, TODAY, symptoms=["fainting"])
        for client in (alf, yan, wim, cast.anna, cast.ben):
            plan_week(client, monday="done")
            histories.session(client, MONDAY)
        histories.check_in(
            wim, TODAY, pains=[{"site": "knee", "score": 4, "when": "after", "onset": "known", "exercise": None}]
        )
        plan_session(yan, TODAY - timedelta(days=1), state="missed")
    flags_of_the_day(cast.business_id, NOON)
    found = page(cast.api(cast.owner))
    assert [(item["name"], item["attention"]) for item in found["items"]] == [
        ("Zoe", "stop"),
        ("Yan", "missed"),
        ("Wim", "watch"),
        ("Carl", "runs_out"),
        ("alf", "none"),
        ("Anna", "none"),
        ("Ben", "none"),
    ]
    assert found["summary"]["clients"] == 7
    assert found["summary"]["attention"] == {
        "stop": 1,
        "contact": 0,
        "missed": 1,
        "watch": 1,
        "runs_out": 1,
        "unknown": 0,
        "none": 3,
    }
    assert sum(found["summary"]["state_today"].values()) == sum(found["summary"]["readiness"].values()) == 7
    assert found["summary"]["readiness"]["stop"] == 1


def test_pages_hold_each_client_once_and_the_summary_all_of_them(cast: Cast):
    api = cast.api(cast.owner)
    with business_scope(cast.business_id):
        add_clients(cast, 4)
    whole = [item["client"] for item in page(api)["items"]]
    seen: list[str] = []
    query = "?limit=2"
    while query:
        found = page(api, query)
        assert found["summary"]["clients"] == 7
        assert len(found["items"]) <= 2
        seen += [item["client"] for item in found["items"]]
        query = f"?{found['next'].split('?')[1]}" if found["next"] else ""
    assert seen == whole
    assert len(set(seen)) == 7


def test_a_cursor_of_another_filter_or_hand_is_refused(cast: Cast):
    api = cast.api(cast.owner)
    cursor = page(api, "?limit=1")["next"].split("cursor=")[1]
    for query in (f"?limit=1&coach={cast.coach.id}&cursor={cursor}", "?cursor=made-up"):
        answer = api.get(f"{PATH}{query}")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "?cursor")


def test_each_caller_sees_the_clients_they_may_see(cast: Cast, neighbour: Cast):
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(viewers=[cast.viewer.id])

    def names(member: Any, query: str = "", of: Cast = cast) -> list[str]:
        return sorted(item["name"] for item in page(of.api(member), query)["items"])

    assert names(cast.owner) == names(cast.head) == ["Anna", "Ben", "Carl"]
    assert names(cast.coach) == ["Anna", "Ben"]
    assert names(cast.other_coach) == ["Carl"]
    assert names(cast.viewer) == ["Ben"]
    assert names(cast.head, f"?coach={cast.coach.id}") == ["Anna", "Ben"]
    assert names(cast.coach, f"?coach={cast.other_coach.id}") == []
    own = {item["client"] for item in page(neighbour.api(neighbour.owner))["items"]}
    assert own == {str(neighbour.anna.id), str(neighbour.ben.id), str(neighbour.carl.id)}


def test_the_summary_counts_only_whom_the_caller_may_see(cast: Cast):
    assert page(cast.api(cast.other_coach))["summary"]["clients"] == 1


def test_clients_and_keys_have_no_morning_page(cast: Cast):
    assert cast.api(cast.client_member).get(PATH).status_code == 403
    assert cast.key("logs:read", "progress:read", "clients:read", "plans:read").get(PATH).status_code == 403


def test_a_coach_who_is_not_of_the_business_is_unknown(cast: Cast, neighbour: Cast):
    for coach_id in (neighbour.coach.id, uuid4()):
        answer = cast.api(cast.owner).get(f"{PATH}?coach={coach_id}")
        assert answer.status_code == 400
        assert answer.json()["errors"][0]["pointer"] == "?coach"
        assert answer.json()["errors"][0]["code"] == "unknown_object"


def test_who_has_ended_is_shown_only_while_a_flag_stands(cast: Cast):
    with business_scope(cast.business_id):
        histories.check_in(cast.ben, TODAY, symptoms=["fainting"])
    flags_of_the_day(cast.business_id, NOON)
    with business_scope(cast.business_id):
        Client.objects.filter(id__in=[cast.anna.id, cast.ben.id]).update(state="ended")
    items = page(cast.api(cast.owner))["items"]
    assert [(item["name"], item["state_today"]) for item in items] == [
        ("Ben", "not_planned"),
        ("Carl", "not_planned"),
    ]


def test_a_business_without_clients_has_an_empty_page(cast: Cast):
    with business_scope(cast.business_id):
        Client.objects.all().delete()
    found = page(cast.api(cast.owner))
    assert (found["items"], found["next"], found["summary"]["clients"]) == ([], None, 0)
    assert found["summary"]["attention"]["stop"] == 0


def test_the_page_says_what_it_is_not(cast: Cast):
    informs, not_watched = page(cast.api(cast.coach))["cautions"]
    assert "diagnoses nothing" in informs
    assert "clears nobody" in informs
    assert "real time" in not_watched


def test_fifty_clients_take_as_many_statements_as_one(cast: Cast):
    api = cast.api(cast.coach)
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(coach=cast.other_coach)
    one = statements_of(api, PATH)
    with business_scope(cast.business_id):
        add_clients(cast, 49)
    flags_of_the_day(cast.business_id, NOON)
    assert len(page(api, "?limit=50")["items"]) == 50
    assert statements_of(api, f"{PATH}?limit=50") == one
