"""`/clients/{id}/readiness`: today as on the morning page, and the days before."""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.flags import evaluate_flags, flags_of_the_day
from tests.coaching.queries import statements_of
from tests.logs import histories
from tests.scenario import NOON, Cast

TODAY = NOON.date()


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def path(client: Client, query: str = "") -> str:
    return f"/api/v1/clients/{client.id}/readiness{query}"


def read(cast: Cast, client: Client, query: str = "") -> dict[str, Any]:
    answer = cast.api(cast.coach).get(path(client, query))
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def trained(cast: Cast) -> None:
    """Anna trained two days ago as planned, and five days ago."""
    with business_scope(cast.business_id):
        assignment = histories.assignment(cast.anna)
        for days in (5, 2):
            histories.planned(assignment, ago(days), state="done", performed_on=ago(days))
            histories.session(cast.anna, ago(days), session_rpe=Decimal(6), duration_min=Decimal(50))


def test_today_is_as_on_the_morning_page_and_the_days_before_follow(cast: Cast):
    trained(cast)
    flags_of_the_day(cast.business_id, NOON)
    found = read(cast, cast.anna)
    overview = cast.api(cast.coach).get("/api/v1/overview").json()["items"]
    (morning,) = (one["readiness"] for one in overview if one["client"] == str(cast.anna.id))
    today = found["days"][0]
    assert {name: today[name] for name in morning} == morning
    assert [day["local_date"] for day in found["days"]] == [ago(days).isoformat() for days in range(7)]
    assert [day["verdict"] for day in found["days"]] == ["nothing_noted"] * 6 + ["unknown"]


def test_a_flag_stands_with_its_evidence_and_stops_only_its_own_region(cast: Cast):
    trained(cast)
    with business_scope(cast.business_id):
        pain = {"site": "shoulder", "side": "left", "score": 7, "when": "during", "onset": "new"}
        histories.check_in(cast.anna, TODAY, pains=[pain])
        evaluate_flags(client_ids=[cast.anna.id], now=NOON)
    today, yesterday = read(cast, cast.anna, "?days=2")["days"]
    assert (today["verdict"], today["scopes"]) == ("stop", ["region:shoulder:left"])
    assert "other movements are not stopped" in today["sentence"]
    (flag,) = (flag for flag in today["flags"] if flag["kind"] == "pain")
    assert (flag["kind"], flag["action"], flag["figures"]["worst_score"]) == ("pain", "stop_movement", 7)
    assert flag["cautions"]
    assert flag["rule"]
    assert (yesterday["verdict"], yesterday["flags"]) == ("nothing_noted", [])


def test_a_client_who_ended_is_unknown_because_not_coached(cast: Cast):
    trained(cast)
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(state="ended")
    assert {day["reason"] for day in read(cast, cast.anna)["days"]} == {"not_coached"}


def test_care_says_why_heart_rate_is_no_part_of_it(cast: Cast):
    assert read(cast, cast.anna)["heart_rate_off"] == ""
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(care_groups=["heart_rate_medicine"])
    assert "RPE" in read(cast, cast.anna)["heart_rate_off"]


def test_it_is_for_those_who_coach_the_client(cast: Cast, neighbour: Cast):
    for member in (cast.owner, cast.head, cast.coach):
        assert cast.api(member).get(path(cast.anna)).status_code == 200
    assert cast.api(cast.client_member).get(path(cast.anna)).status_code == 403
    assert cast.api(cast.other_coach).get(path(cast.anna)).status_code == 404
    assert neighbour.api(neighbour.owner).get(path(cast.anna)).status_code == 404


def test_it_costs_the_same_for_few_days_and_for_many(cast: Cast):
    trained(cast)
    api = cast.api(cast.coach)
    assert statements_of(api, path(cast.anna, "?days=1")) == statements_of(api, path(cast.anna, "?days=56"))
