"""`/clients/{id}/reference-loads`."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine

from coaching.tenancy.scope import business_scope
from programs.models import Exercise, ReferenceLoad
from tests.coaching.queries import statements_of
from tests.programs.documents import assign, day, published, sessions
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


SLOW = {"kind": "percent", "of": "tested", "pct": "75"}


def slow_slot(tempo: str = "51X1") -> dict[str, Any]:
    """Four sets of five at three quarters of the tested maximum, at a slow tempo."""
    sets = [{"count": 4, "kind": "work", "reps_low": 5, "tempo": tempo, "load": SLOW}]
    return {"slot_key": "A1", "exercise": "back-squat", "goal": "strength", "rest_s": 180, "sets": sets}


def follow(cast: Cast, *slots: dict[str, Any]) -> UUID:
    """Give Anna one session of a percentage at a slow tempo; return it."""
    with business_scope(cast.business_id):
        document = {"weeks": [{"week_number": 1, "days": [day(1, *(slots or (slow_slot(),)))]}]}
        assign(cast.coach, published(document), cast.anna.id, weekdays=(0,))
        return sessions(cast.anna.id)[0].id


def load_of(cast: Cast, planned_id: UUID) -> dict[str, Any]:
    card = cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{planned_id}/card").json()
    return card["blocks"][0]["exercises"][0]["sets"][0]["load"]


def change_factors(api: Any, made: Any, client_id: Any, **factors: Any) -> Any:
    where = f"{path(client_id)}/{made.json()['id']}"
    return api.patch(where, {"tempo_factors": factors}, format="json", HTTP_IF_MATCH=made["ETag"])


def test_a_slow_slot_takes_the_reference_times_the_coachs_factor_and_the_card_says_so(cast: Cast) -> None:
    record(cast.api(cast.coach), cast.anna.id, load_kg=140, tempo_factors={"slow": 0.85})
    load = load_of(cast, follow(cast))
    # 140 x 0.75 x 0.85 = 89.25, and plates make steps of 2.5.
    assert (load["status"], load["words"]) == ("resolved", "87.5 kg")
    said = "75 % of the tested maximum of 2031-03-01 (140 kg), times 0.85 for a slow tempo. Rounded down to 87.5 kg."
    assert load["origin"] == said


def test_without_a_factor_a_slow_slot_goes_by_effort(cast: Cast) -> None:
    record(cast.api(cast.coach), cast.anna.id, load_kg=140, tempo_factors={"paused": 0.9})
    load = load_of(cast, follow(cast))
    assert (load["status"], load["load_kg"]) == ("needs_effort", None)
    assert "no factor is set for it" in load["origin"]


def test_a_factor_set_later_resolves_what_is_planned_already_and_null_takes_it_back(cast: Cast) -> None:
    api = cast.api(cast.coach)
    made = record(api, cast.anna.id, load_kg=140)
    assert made.json()["tempo_factors"] == {"slow": None, "paused": None, "slow_paused": None}
    planned_id = follow(cast)
    changed = change_factors(api, made, cast.anna.id, slow=0.8, slow_paused=0.7)
    assert changed.status_code == 200, changed.content
    assert changed.json()["tempo_factors"] == {"slow": 0.8, "paused": None, "slow_paused": 0.7}
    assert load_of(cast, planned_id)["load_kg"] == 82.5
    assert change_factors(api, made, cast.anna.id, slow=0.9).status_code == 412
    back = change_factors(api, changed, cast.anna.id, slow=None)
    assert back.json()["tempo_factors"] == {"slow": None, "paused": None, "slow_paused": 0.7}
    assert load_of(cast, planned_id)["status"] == "needs_effort"
    read = api.get(f"{path(cast.anna.id)}/{made.json()['id']}")
    assert (read.json(), read["ETag"]) == (back.json(), back["ETag"])


def test_a_new_maximum_keeps_the_factors_unless_it_brings_its_own(cast: Cast) -> None:
    api = cast.api(cast.coach)
    record(api, cast.anna.id, load_kg=140, tempo_factors={"slow": 0.85})
    later = record(api, cast.anna.id, load_kg=150, on_date="2031-03-03")
    assert later.json()["tempo_factors"]["slow"] == 0.85
    other_kind = record(api, cast.anna.id, load_kg=150, kind="estimated", on_date="2031-03-03")
    assert other_kind.json()["tempo_factors"]["slow"] is None
    bare = record(api, cast.anna.id, load_kg=155, on_date="2031-03-04", tempo_factors={})
    assert bare.json()["tempo_factors"]["slow"] is None


@pytest.mark.parametrize(
    ("factors", "pointer"),
    [
        ({"slow": 0.29}, "#/tempo_factors/slow"),
        ({"slow": 1.01}, "#/tempo_factors/slow"),
        ({"standard": 0.9}, "#/tempo_factors/standard"),
        ({"paused": "much"}, "#/tempo_factors/paused"),
    ],
)
def test_a_factor_that_nobody_could_mean_is_refused(cast: Cast, factors: dict[str, Any], pointer: str) -> None:
    api = cast.api(cast.coach)
    refused = record(api, cast.anna.id, load_kg=140, tempo_factors=factors)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, pointer)
    made = record(api, cast.anna.id, load_kg=140)
    assert change_factors(api, made, cast.anna.id, **factors).json()["errors"][0]["pointer"] == pointer


def test_factors_are_for_those_who_may_record_loads(cast: Cast, neighbour: Cast) -> None:
    made = record(cast.api(cast.coach), cast.anna.id, load_kg=140)
    for api, client_id, status in (
        (cast.api(cast.client_member), cast.anna.id, 403),
        (cast.api(cast.other_coach), cast.anna.id, 404),
        (cast.api(cast.coach), cast.ben.id, 404),
        (neighbour.api(neighbour.owner), cast.anna.id, 404),
    ):
        assert change_factors(api, made, client_id, slow=0.8).status_code == status
