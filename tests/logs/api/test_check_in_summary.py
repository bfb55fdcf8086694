"""`/clients/{id}/check-in-summary` and `/clients/{id}/training-load`: what the rows say, and who may read it."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import refresh_weeks, store_client_weeks
from logs.models import ClientWeek
from tests.coaching.api.test_check_in_forms import HOURS, MOOD, WORDS, made
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.logs.logging import check_in, post
from tests.scenario import NOON, Cast

TODAY = NOON.date()


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def path(client: Client, what: str = "check-in-summary", query: str = "") -> str:
    return f"/api/v1/clients/{client.id}/{what}{query}"


def read(cast: Cast, client: Client, what: str = "check-in-summary", query: str = "") -> dict:
    answer = cast.api(cast.coach).get(path(client, what, query))
    assert answer.status_code == 200, answer.content
    return answer.json()


def checked_in(cast: Cast, days: int = 40, **form: str) -> None:
    """Anna checks in on each of the last days; today she slept worse, and her pulse was up for three days."""
    logs = []
    for ago in range(days):
        day = (TODAY - timedelta(days=ago)).isoformat()
        fields: dict[str, Any] = {
            "sleep": 2 + ago % 2,
            "fatigue": 3,
            "stress": 2,
            "soreness": 4,
            "resting_hr_bpm": 50 + ago % 3,
        }
        fields |= {"hrv_rmssd_ms": 60.5 + ago % 5, "bodyweight_kg": round(70 + 0.05 * ago, 2)}
        if ago == 0:
            fields["sleep"] = 6
        if ago < 3:
            fields["resting_hr_bpm"] = 60
        if form:
            fields |= {"form": form["id"], "answers": {"mood": 3 + ago % 2, "words": f"day {ago}"}}
        logs.append(check_in(cast.anna, f"c{ago}", local_date=day, **fields))
    post(cast.api(cast.coach), source="app", check_ins=logs)


def test_check_ins_are_summed_up_against_the_clients_own(cast: Cast):
    checked_in(cast, id=made(cast, MOOD, HOURS, WORDS)["id"])
    found = read(cast, cast.anna)
    sleep, wellness = found["items"][0], found["wellness_sum"]
    assert (found["check_ins"], sleep["name"], sleep["value"], sleep["baseline"]["n"]) == (28, "sleep", 6, 28)
    assert (sleep["z"], sleep["direction"], sleep["reason"]) == (sleep["worse_by_sd"], "higher_is_worse", "known")
    assert sleep["z"] > 5
    assert (wellness["value"], wellness["baseline"]["mean"]) == (15, 11.5)
    assert (found["resting_heart_rate"]["raised"], found["resting_heart_rate"]["mean_bpm"]) == (True, 60)
    assert found["heart_rate_variability"]["place"] in {"usual", "above_usual", "below_usual"}
    weight = found["bodyweight"]
    assert (weight["kg_per_week"], weight["rate_n"], weight["n"]) == (-0.35, 21, 40)
    assert [one["name"] for one in found["questions"]] == ["mood"]
    assert (found["words"][0]["answer"], found["words"][0]["text"]) == ("day 0", "Anything else?")
    assert any("no diagnosis" in caution for caution in found["cautions"])
    assert (
        set(found["methods"])
        == set(found["sources"])
        == {
            "scales",
            "resting_heart_rate",
            "heart_rate_variability",
            "bodyweight",
        }
    )


def test_nothing_said_is_told_as_nothing_said(cast: Cast):
    found = read(cast, cast.anna)
    assert {one["reason"] for one in found["items"]} == {"no_entry"}
    assert {found[name]["reason"] for name in ("resting_heart_rate", "heart_rate_variability", "bodyweight")} == {
        "no_entry"
    }


def test_care_switches_weight_and_heart_rate_off_everywhere(cast: Cast):
    checked_in(cast, 10)
    with business_scope(cast.business_id):
        groups = ["eating_disorder_history", "heart_rate_medicine"]
        Client.objects.filter(id=cast.anna.id).update(care_groups=groups)
        histories.check_in(cast.anna, TODAY, bodyweight=Decimal(70), unit="kg", bodyweight_kg=Decimal(70))
    found = read(cast, cast.anna)
    for name in ("resting_heart_rate", "heart_rate_variability", "bodyweight"):
        shown = found[name]
        assert (shown["n"], shown["reason"]) == (0, "switched_off_for_care")
        assert shown["why"]
        assert all(shown[field] is None for field in shown if field.endswith(("_kg", "_bpm", "_ms", "_ln", "_week")))
    assert found["bodyweight"]["daily"] == []
    with business_scope(cast.business_id):
        store_client_weeks(weeks=[(cast.anna.id, histories.MONDAY)])
        assert ClientWeek.objects.get(client=cast.anna).mean_bodyweight_kg is not None
    weeks = read(cast, cast.anna, "progress")["weeks"]
    assert [(week["week_start"], week["mean_bodyweight_kg"]) for week in weeks] == [("2031-03-03", None)]


def test_low_wellness_and_a_raised_pulse_become_flags(cast: Cast):
    checked_in(cast)
    tired = {"sleep": 6, "fatigue": 6, "stress": 6, "local_date": TODAY.isoformat()}
    post(cast.api(cast.coach), source="app", check_ins=[check_in(cast.anna, "worse", **tired)])
    refresh_weeks(cast.business_id, NOON)
    flags = cast.api(cast.coach).get(f"/api/v1/flags?client={cast.anna.id}&kind=low_wellness,resting_heart_rate_up")
    found = {flag["kind"]: flag for flag in flags.json()["items"]}
    assert set(found) == {"low_wellness", "resting_heart_rate_up"}
    assert found["low_wellness"]["figures"]["items"] == ["sleep", "fatigue", "stress"]
    assert found["resting_heart_rate_up"]["figures"]["mean_bpm"] == "60.0"


def test_load_is_read_by_day_week_and_history(cast: Cast):
    with business_scope(cast.business_id):
        for ago in range(1, 61):
            if ago % 2:
                histories.session(
                    cast.anna, TODAY - timedelta(days=ago), session_rpe=Decimal(6), duration_min=Decimal(50)
                )
        histories.session(cast.anna, TODAY - timedelta(days=2), session_rpe=None, duration_min=Decimal(50))
    found = read(cast, cast.anna, "training-load", "?weeks=2")
    assert [day["load"] for day in found["days"]] == [300, 0, 300, 0, 300, 0, 300, None, 300, 0]
    assert found["days"][7]["unknown"] == ["rating_unknown"]
    assert (found["as_of"], found["today"]) == ("2031-03-04", "2031-03-05")
    assert [(week["first"], week["complete"], week["total"]) for week in found["weeks"]] == [
        ("2031-02-24", True, 1200),
        ("2031-03-03", False, 300),
    ]
    assert (found["last_7_days"]["monotony"], found["last_7_days"]["reason"]) == (None, "unknown_days")
    weighted = found["weighted"]
    assert (weighted["reason"], weighted["days_unknown"], weighted["history_days"]) == ("known", 1, 59)
    assert "Impellizzeri" in weighted["ratio"]["criticism"]
    assert (found["comparison"]["n"], found["comparison"]["reason"]) == (6, "known")
    assert "not an injury predictor" in found["cautions"][0]


def test_today_counts_once_something_is_logged_on_it(cast: Cast):
    with business_scope(cast.business_id):
        for ago in (3, 0):
            day = TODAY - timedelta(days=ago)
            histories.session(cast.anna, day, session_rpe=Decimal(6), duration_min=Decimal(50))
    assert read(cast, cast.anna, "training-load")["as_of"] == "2031-03-05"


def test_a_planned_session_that_nobody_logged_is_unknown_and_minutes_that_were_confirmed_are_known(cast: Cast):
    with business_scope(cast.business_id):
        long = {"session_rpe": Decimal(5), "duration_min": Decimal(200)}
        histories.session(cast.anna, TODAY - timedelta(days=4), **long)
        histories.session(cast.anna, TODAY - timedelta(days=3), minutes_confirmed=True, **long)
        assignment = histories.assignment(cast.anna)
        histories.planned(assignment, TODAY - timedelta(days=1), state="missed")
    shown = {day["local_date"][-2:]: day for day in read(cast, cast.anna, "training-load")["days"]}
    assert (shown["01"]["load"], shown["01"]["unknown"]) == (None, ["minutes_unknown"])
    assert shown["02"]["load"] == 1000
    assert (shown["04"]["load"], shown["04"]["unknown"]) == (None, ["planned_not_logged"])


def test_a_client_who_logged_nothing_has_no_load_and_a_reason(cast: Cast):
    found = read(cast, cast.anna, "training-load")
    assert (found["days"], found["as_of"], found["weighted"]["reason"]) == ([], None, "nothing_logged")
    assert found["comparison"]["reason"] == "no_complete_week"


@pytest.mark.parametrize("what", ["check-in-summary", "training-load"])
def test_those_who_see_the_client_read_it_and_nobody_else(cast: Cast, neighbour: Cast, what: str):
    for member in (cast.owner, cast.head, cast.coach, cast.client_member):
        assert cast.api(member).get(path(cast.anna, what)).status_code == 200
    assert cast.api(cast.other_coach).get(path(cast.anna, what)).status_code == 404
    assert neighbour.api(neighbour.owner).get(path(cast.anna, what)).status_code == 404
    assert cast.key("progress:read").get(path(cast.anna, what)).status_code == 200
    assert cast.key("logs:read").get(path(cast.anna, what)).status_code == 403
    assert cast.api(cast.coach).get(f"/api/v1/clients/{uuid4()}/{what}").status_code == 404


def test_it_costs_the_same_for_few_and_for_many(cast: Cast):
    api = cast.api(cast.coach)
    form = made(cast, MOOD, WORDS)
    checked_in(cast, 1, id=form["id"])
    few = statements_of(api, path(cast.anna))
    checked_in(cast, 40, id=form["id"])
    assert statements_of(api, path(cast.anna)) == few
