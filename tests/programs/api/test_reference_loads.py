"""`/clients/{id}/reference-loads`."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from coaching.tenancy.scope import business_scope
from programs.models import Exercise, ReferenceLoad
from tests.coaching.queries import statements_of
from tests.scenario import NOON, Cast


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def path(client_id: Any) -> str:
    return f"/api/v1/clients/{client_id}/reference-loads"


def record(api: Any, client_id: Any, **more: Any) -> Any:
    body = {"exercise": "back-squat", "kind": "tested", "on_date": "2031-03-01"}
    return api.post(path(client_id), body | more, format="json")


def test_a_load_in_either_unit_is_returned_in_both_and_as_entered(cast: Cast) -> None:
    api = cast.api(cast.coach)
    made = record(api, cast.anna.id, load_lb=225)
    assert made.status_code == 201, made.content
    shown = made.json()
    assert (shown["load_kg"], shown["load_lb"]) == (102.05828325, 225)
    assert shown["load_entered"] == {"value": 225, "unit": "lb"}
    assert (shown["exercise"], shown["exercise_name"]) == ("back-squat", "Back squat")
    assert cast.api(cast.client_member).get(path(cast.anna.id)).json()["items"] == [shown]


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"load_kg": 100, "load_lb": 220}, "#/load_lb"),
        ({}, "#/load_kg"),
        ({"load_kg": -5}, "#/load_kg"),
        ({"load_kg": 100, "exercise": "back-squatt"}, "#/exercise"),
        ({"load_kg": 100, "on_date": "2031-04-01"}, "#/on_date"),
        ({"load_kg": 100, "kind": "guessed"}, "#/kind"),
        ({"load_kg": 100, "reps": 1}, "#/reps"),
    ],
)
def test_a_bad_load_is_refused_and_nothing_is_written(cast: Cast, more: dict[str, Any], pointer: str) -> None:
    answer = record(cast.api(cast.coach), cast.anna.id, **more)
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, pointer)
    with business_scope(cast.business_id):
        assert not ReferenceLoad.objects.exists()


def test_a_second_of_the_same_day_is_a_conflict(cast: Cast) -> None:
    api = cast.api(cast.coach)
    record(api, cast.anna.id, load_kg=100)
    assert record(api, cast.anna.id, load_kg=105).json()["code"] == "reference_exists"


def test_a_strangers_client_is_not_there(cast: Cast, neighbour: Cast) -> None:
    api = cast.api(cast.coach)
    for client_id in (cast.carl.id, neighbour.anna.id, uuid4()):
        assert api.get(path(client_id)).status_code == 404
        assert record(api, client_id, load_kg=100).status_code == 404
    assert record(cast.api(cast.client_member), cast.anna.id, load_kg=100).status_code == 403


def test_fifty_rows_take_as_many_statements_as_one(cast: Cast) -> None:
    with business_scope(cast.business_id):
        squat = Exercise.objects.get(key="back-squat")
        ReferenceLoad.objects.bulk_create(
            [
                ReferenceLoad(
                    client=cast.anna,
                    exercise=squat,
                    kind="tested",
                    load=100,
                    unit="kg",
                    load_kg=100,
                    on_date=NOON.date() - timedelta(days=day),
                )
                for day in range(50)
            ]
        )
    api = cast.api(cast.coach)
    where = path(cast.anna.id)
    assert statements_of(api, f"{where}?limit=1") == statements_of(api, f"{where}?limit=50")
