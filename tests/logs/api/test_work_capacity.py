"""Work capacity, conditioning results, and two training blocks side by side."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine

from coaching.models import Absence, Client
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import store_client_weeks
from logs.models import SessionLog
from programs.models import Assignment
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.logs.histories import MONDAY as THIS_WEEK
from tests.scenario import NOON, Cast

WEEK = timedelta(days=7)
ROWER: dict[str, Any] = {
    "name": "Rowing machine",
    "pattern": "steady_conditioning",
    "measure": "metres",
    "loading": "machine_monitor",
    "station": "rowing_machine",
}
BLOCK: dict[str, Any] = {
    "kind": "max_rounds",
    "label": "B",
    "minutes": 8,
    "slots": [{"slot_key": "B1", "exercise": "get-up", "sets": [{"count": 1, "kind": "work", "reps_low": 2}]}],
}


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def path(client: Client, what: str, query: str = "") -> str:
    return f"/api/v1/clients/{client.id}/{what}{query}"


def trained(
    given: Assignment, weeks_ago: int, minutes: str, *, sets: int = 4, rounds: int = 6, row_s: int = 480, **plan: Any
) -> SessionLog:
    """A session of the same template: squats, a block of get-ups, and 2,000 m of rowing."""
    day = THIS_WEEK - weeks_ago * WEEK
    planned = histories.planned(given, day, prescribed={"blocks": [BLOCK]}, **plan)
    log = histories.session(
        given.client, day, planned_session=planned, duration_min=Decimal(minutes), session_rpe=Decimal(7)
    )
    squat, get_up = histories.exercise("back-squat"), histories.exercise("get-up", name="Get-up", pattern="get_up")
    for number in range(1, sets + 1):
        histories.performed(log, squat, slot_key="A1", set_number=number)
    for number in range(1, rounds + 1):
        histories.performed(log, get_up, slot_key="B1", set_number=number, reps=2, load_kg=Decimal(10))
    rowed = {"reps": None, "load_kg": None, "distance_m": Decimal(2000), "duration_s": Decimal(row_s)}
    histories.performed(log, histories.exercise("rowing-machine", **ROWER), **rowed)
    return log


def test_a_template_repeated_at_equal_work_is_compared_by_its_minutes(cast: Cast):
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna)
        trained(given, 3, "42")
        trained(given, 2, "30", sets=2, deload=True)
        trained(given, 1, "38.2")
        histories.session(cast.anna, THIS_WEEK, duration_min=Decimal(20))
    answer = cast.api(cast.coach).get(path(cast.anna, "work-capacity"))
    assert answer.status_code == 200, answer.content
    (template,) = answer.json()["templates"]
    assert (template["template_key"], template["unit"]) == ("lower-a", "tonnage_kg")
    # 4 x 5 x 100 kg and 6 x 2 x 10 kg.
    first, deload, latest = template["occurrences"]
    assert (first["tonnage_kg"], first["repetitions"], first["distance_m"]) == (2120, 32, 2000)
    assert (first["density_per_min"], deload["deload"], latest["minutes"]) == (50.47619, True, 38.2)
    assert template["comparison"]["sentence"] == (
        "Same session, 9 % less time (38.2 against 42 min); 2 sessions compared."
    )
    assert template["recent_sessions"] == 2
    assert template["recent_density_per_min"] == pytest.approx((2120 / 42 + 2120 / 38.2) / 2, abs=1e-5)


def test_more_work_is_said_and_not_called_slower(cast: Cast):
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna)
        trained(given, 2, "40")
        trained(given, 1, "46", rounds=12)
    (template,) = cast.api(cast.coach).get(path(cast.anna, "work-capacity")).json()["templates"]
    comparison = template["comparison"]
    assert (comparison["verdict"], comparison["difference"]["unit"]) == ("not_at_equal_work", "repetitions")
    assert comparison["change_ratio"] is None


def test_minutes_beyond_belief_and_loads_not_given_are_unknown(cast: Cast):
    with business_scope(cast.business_id):
        log = trained(histories.assignment(cast.anna), 1, "190")
        log.sets.filter(slot_key="B1").update(load_kg=None)
    (template,) = cast.api(cast.coach).get(path(cast.anna, "work-capacity")).json()["templates"]
    (only,) = template["occurrences"]
    assert (only["minutes"], only["tonnage_kg"], only["density_per_min"]) == (None, None, None)
    assert (template["unit"], template["comparison"]["verdict"]) == ("repetitions", "minutes_unknown")


def test_heavier_squats_beside_loads_not_given_are_no_equal_work(cast: Cast):
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna)
        for weeks_ago, load in ((2, 100), (1, 120)):
            log = trained(given, weeks_ago, "40")
            log.sets.filter(slot_key="B1").update(load_kg=None)
            log.sets.filter(slot_key="A1").update(load_kg=load)
    (template,) = cast.api(cast.coach).get(path(cast.anna, "work-capacity")).json()["templates"]
    assert template["comparison"]["verdict"] == "not_at_equal_work"
    assert (template["occurrences"][0]["tonnage_kg"], template["occurrences"][0]["known_tonnage_kg"]) == (None, 2000)
    assert template["occurrences"][0]["unknown_load_sets"] == 6


def test_warming_up_on_the_rower_is_no_piece(cast: Cast):
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna)
        rower = histories.exercise("rowing-machine", **ROWER)
        for weeks_ago in (2, 1):
            log = trained(given, weeks_ago, "42")
            easy = {"reps": None, "load_kg": None, "distance_m": Decimal(500), "duration_s": Decimal(180)}
            histories.performed(log, rower, kind="warm_up", **easy)
    (exercise,) = cast.api(cast.coach).get(path(cast.anna, "conditioning")).json()["exercises"]
    assert [(one["pieces"], one["split_s"]) for one in exercise["sessions"]] == [(1, 120), (1, 120)]


def test_conditioning_is_told_by_block_and_by_piece(cast: Cast):
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna)
        trained(given, 3, "42", rounds=6, row_s=500)
        trained(given, 2, "42", rounds=3, row_s=600, deload=True)
        trained(given, 1, "42", rounds=8, row_s=480)
    body = cast.api(cast.coach).get(path(cast.anna, "conditioning")).json()
    (block,) = body["blocks"]
    assert (block["kind"], block["duration_min"], block["letter"]) == ("max_rounds", 8, "B")
    assert block["slots"] == [{"slot": "B1", "exercise": "get-up", "asked": "1 x 2"}]
    assert [(result["rounds"], result["deload"]) for result in block["results"]] == [(6, False), (3, True), (8, False)]
    assert block["comparison"]["sentence"] == "Same block, 8 against 6 rounds; 2 results compared."
    (rower,) = body["exercises"]
    assert [(one["split_s"], one["power_w"]) for one in rower["sessions"]] == [
        (125, 179.2),
        (150, 103.7),
        (120, 202.55),
    ]
    assert rower["comparison"]["sentence"] == (
        "Same piece, split 2:00.0 against 2:05.0, 13 % more power; 2 sessions compared."
    )


def blocks(cast: Cast, query: str, status: int = 200) -> Any:
    answer = cast.api(cast.coach).get(path(cast.anna, "blocks/compare", query))
    assert answer.status_code == status, answer.content
    return answer.json()


def test_two_blocks_stand_side_by_side_week_for_week(cast: Cast):
    with business_scope(cast.business_id):
        old, new = histories.assignment(cast.anna), histories.assignment(cast.anna)
        for weeks_ago in (6, 5):
            trained(old, weeks_ago, "40", sets=2)
        trained(new, 3, "40", sets=4)
        trained(new, 2, "40", sets=1, deload=True)
        trained(new, 1, "40", sets=4)
        trained(new, 0, "40", sets=1)
        store_client_weeks(weeks=[(cast.anna.id, THIS_WEEK - number * WEEK) for number in range(8)])
        version = old.variant.versions.get()
    dates = (
        f"?from={THIS_WEEK - 3 * WEEK}&to={THIS_WEEK}&with_from={THIS_WEEK - 6 * WEEK}&with_to={THIS_WEEK - 5 * WEEK}"
    )
    body = blocks(cast, dates)
    assert body["block"] | {"first": "", "last": ""} == {
        "first": "", "last": "", "weeks": 2, "deload_weeks": 1, "away_weeks": 0, "unfinished_weeks": 1,
    }  # fmt: skip
    figures = {figure["name"]: figure for figure in body["figures"]}
    tonnage = figures["tonnage_kg"]
    assert (tonnage["value"], tonnage["weeks"], tonnage["with_value"], tonnage["with_weeks"]) == (2120, 2, 1120, 2)
    assert (tonnage["difference"], tonnage["change_ratio"]) == (1000, 0.892857)
    assert figures["session_load"]["value"] is None or figures["session_load"]["weeks"] <= 2
    assert "not of what caused" in body["cautions"][0]
    by_assignment = blocks(cast, f"?assignment={new.id}&with_version={version.id}")
    assert by_assignment["figures"] == body["figures"]


def test_weeks_away_stay_out_of_a_block(cast: Cast):
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna)
        for weeks_ago, sets in ((3, 4), (2, 1), (1, 4)):
            trained(given, weeks_ago, "40", sets=sets)
        store_client_weeks(weeks=[(cast.anna.id, THIS_WEEK - number * WEEK) for number in range(4)])
        away = THIS_WEEK - 2 * WEEK
        Absence.objects.create(client=cast.anna, starts_on=away, ends_on=away + timedelta(days=4), kind="holiday")
    body = blocks(cast, "")
    assert (body["block"]["weeks"], body["block"]["away_weeks"]) == (2, 1)
    figures = {figure["name"]: figure for figure in body["figures"]}
    assert (figures["tonnage_kg"]["value"], figures["tonnage_kg"]["weeks"]) == (2120, 2)


def test_a_block_not_chosen_is_the_last_four_weeks_and_its_fellow_as_many_before(cast: Cast):
    body = blocks(cast, "")
    assert [body["block"][end] for end in ("first", "last")] == [
        (THIS_WEEK - 4 * WEEK).isoformat(),
        (THIS_WEEK - timedelta(days=1)).isoformat(),
    ]
    assert [body["with_block"][end] for end in ("first", "last")] == [
        (THIS_WEEK - 8 * WEEK).isoformat(),
        (THIS_WEEK - 4 * WEEK - timedelta(days=1)).isoformat(),
    ]
    assert {figure["reason"] for figure in body["figures"]} == {"missing_in_both"}


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("?from=2031-01-06&to=2031-01-12&version=019df000-0000-7000-8000-000000000000", "?from"),
        ("?from=2031-01-06&with_from=2031-01-06&with_to=2031-01-12", "?to"),
        ("?from=2031-01-06&to=2031-01-01&with_from=2031-01-06&with_to=2031-01-12", "?to"),
        ("?from=2021-01-06&to=2031-01-01&with_from=2031-01-06&with_to=2031-01-12", "?to"),
        ("?from=0001-01-01&to=0001-01-07", "?from"),
        ("?from=9999-12-30&to=9999-12-31", "?from"),
        ("?with_from=0001-01-01&with_to=0001-01-07", "?with_from"),
        ("?assignment=019df000-0000-7000-8000-000000000000&with_from=2031-01-06&with_to=2031-01-12", "?assignment"),
    ],
)
def test_a_block_chosen_wrongly_says_what_to_change(cast: Cast, query: str, pointer: str):
    assert blocks(cast, query, 400)["errors"][0]["pointer"] == pointer


def test_statements_do_not_grow_with_sessions_and_other_coaches_see_nothing(cast: Cast):
    api = cast.api(cast.coach)
    query = f"?from={THIS_WEEK - 6 * WEEK}&to={THIS_WEEK}&with_from={THIS_WEEK - 6 * WEEK}&with_to={THIS_WEEK}"
    paths = [path(cast.anna, what) for what in ("work-capacity", "conditioning")]
    paths.append(path(cast.anna, "blocks/compare", query))
    with business_scope(cast.business_id):
        given = histories.assignment(cast.anna)
        trained(given, 1, "40")
    few = [statements_of(api, one) for one in paths]
    with business_scope(cast.business_id):
        for weeks_ago in range(2, 6):
            trained(given, weeks_ago, "40")
    assert [statements_of(api, one) for one in paths] == few
    for one in paths:
        assert cast.api(cast.other_coach).get(one).status_code == 404
        assert cast.api(cast.client_member).get(one).status_code == 200
