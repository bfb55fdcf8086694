"""`/lifts` across clients: who progresses and who stalls."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import store_client_weeks
from tests.logs.histories import MONDAY as THIS_WEEK
from tests.logs.lifting import RISING, WEEK, lifted, path, read, weighed
from tests.scenario import NOON, Cast


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def test_who_progresses_is_listed_across_clients(cast: Cast):
    lifted(cast, cast.anna, RISING)
    lifted(cast, cast.ben, RISING[::-1])
    lifted(cast, cast.carl, [100] * 8)
    body = read(cast.api(cast.head), "/api/v1/lifts")
    assert [(row["client_name"], row["trend"]["verdict"]) for row in body["items"]] == [
        ("Anna", "improving"),
        ("Ben", "declining"),
        ("Carl", "plateau"),
    ]
    assert body["counts"] == {"improving": 1, "declining": 1, "plateau": 1, "undecided": 0, "not_enough_data": 0}
    assert body["items"][2]["matched"]["sentence"] == (
        "100 kg: 5 repetitions at 2 in reserve, against a median of 5 at 2 in reserve over the last 3 times: the same."
    )
    assert body["methods"]["trend"]


def test_the_list_says_of_a_line_what_the_client_says(cast: Cast):
    lifted(cast, cast.anna, [100, 104, None, 101, 108, 103, 111, None, 107, 112])
    weighed(cast)
    api = cast.api(cast.coach)
    listed = {row["line"]: row for row in read(api, "/api/v1/lifts")["items"]}
    lines = read(api, path(cast.anna))["lines"]
    assert len(lines) == 2
    for line in lines:
        assert listed[line["line"]]["trend"] == line["trend"]
        assert listed[line["line"]]["matched"] == line["matched"]


def test_the_list_is_filtered_by_coach_and_verdict(cast: Cast):
    lifted(cast, cast.anna, RISING)
    lifted(cast, cast.ben, RISING[::-1])
    lifted(cast, cast.carl, RISING)

    def names(member: Any, query: str) -> list[str]:
        return [row["client_name"] for row in read(cast.api(member), f"/api/v1/lifts{query}")["items"]]

    assert names(cast.coach, "?coach=me") == ["Anna", "Ben"]
    assert names(cast.head, f"?coach={cast.other_coach.id}") == ["Carl"]
    assert names(cast.head, "?verdict=improving,plateau") == ["Anna", "Carl"]
    assert names(cast.other_coach, "") == ["Carl"]
    assert names(cast.head, "?coach=me") == []


@pytest.mark.parametrize("query", ["?coach=mine", "?verdict=better", "?coach=0198f3a2-7c11-7d52-9c60-3b6a5d1e4f70"])
def test_a_filter_that_names_nothing_is_refused(cast: Cast, query: str):
    assert cast.api(cast.head).get(f"/api/v1/lifts{query}").status_code == 400


def test_the_list_comes_in_pages(cast: Cast):
    for key in ("back-squat", "bench-press", "deadlift"):
        lifted(cast, cast.anna, [100], key=key)
    with business_scope(cast.business_id):
        store_client_weeks(weeks=[(cast.anna.id, THIS_WEEK - WEEK)])
    api = cast.api(cast.coach)
    first = read(api, "/api/v1/lifts?limit=2")
    second = read(api, first["next"])
    assert [row["exercise"] for row in (*first["items"], *second["items"])] == ["back-squat", "bench-press", "deadlift"]
    assert second["next"] is None


def test_care_hides_bodyweights_in_the_list_across_clients_too(cast: Cast):
    weighed(cast)
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(care_groups=["eating_disorder_history"])
    (row,) = read(cast.api(cast.coach), "/api/v1/lifts")["items"]
    assert {one["body_kg"] for one in (row["matched"]["latest"], *row["matched"]["earlier"])} == {None}
