"""Sessions planned for the place that a client travels to."""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.measures.load import Load
from coaching.models import Client, Place
from coaching.tenancy.scope import business_scope
from programs.actions.absences import record_absence
from programs.actions.reference_loads import record_reference_load
from programs.models import PlannedSession
from tests.coaching.queries import statements_of
from tests.programs.documents import MONDAY, acting, assign, content, day, published, sessions, squat_slot
from tests.scenario import NOON, Cast

PATH = "/api/v1/planned-sessions"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def paired() -> dict[str, Any]:
    """Sessions whose pairs change stations, so that the place tells on the clock."""
    document = content()
    for week in document["weeks"]:
        for one in week["days"]:
            row = {
                "slot_key": "A2",
                "exercise": "one-arm-dumbbell-row",
                "rest_s": 0,
                "sets": [{"count": 4, "kind": "work", "reps_low": 10}],
            }
            squat = squat_slot() | {"rest_s": 0}
            squat["sets"] = squat["sets"][1:]
            one["blocks"] = [{"kind": "paired", "label": "A", "slots": [squat, row]}]
    return document


@pytest.fixture
def rows(cast: Cast) -> list[PlannedSession]:
    with business_scope(cast.business_id):
        assign(cast.head, published(paired()), cast.anna.id, cast.ben.id)
        return sessions(cast.anna.id)


def hotel(cast: Cast, **more: Any) -> str:
    body = {"name": "Hotel by the harbour", "kind": "hotel", "equipment": ["dumbbells", "bench"], **more}
    made = cast.api(cast.coach).post(f"/api/v1/clients/{cast.anna.id}/places", body, format="json")
    assert made.status_code == 201, made.content
    place_id: str = made.json()["id"]
    return place_id


def travel(cast: Cast, place: str | None, **more: Any) -> Any:
    body = {
        "client": str(cast.anna.id),
        "starts_on": "2031-03-10",
        "ends_on": "2031-03-13",
        "kind": "travel",
        "treatment": "travel_kit",
        **({} if place is None else {"place": place}),
        **more,
    }
    return cast.api(cast.coach).post("/api/v1/absences", body, format="json")


def shown(cast: Cast, row: PlannedSession) -> Any:
    return cast.api(cast.coach).get(f"{PATH}/{row.id}").json()


def places(cast: Cast) -> list[str | None]:
    with business_scope(cast.business_id):
        return [None if row.place is None else row.place.name for row in sessions(cast.anna.id)]


def test_sessions_inside_keep_their_day_and_are_planned_for_the_place(cast: Cast, rows: list[PlannedSession]) -> None:
    place = hotel(cast)
    answer = travel(cast, place)
    assert (answer.status_code, answer.json()["place"]) == (201, place)
    assert places(cast) == ["Hotel by the harbour"] * 2 + [None] * 4
    there = shown(cast, rows[0])
    assert (there["state"], there["local_date"], there["place_name"]) == (
        "planned",
        "2031-03-10",
        "Hotel by the harbour",
    )
    assert there["planned_high_min"] < float(rows[0].planned_high_min)
    (warning,) = there["place_warnings"]
    assert warning["exercise"] == "back-squat"
    assert "barbell" in warning["missing_equipment"]
    assert "Hotel by the harbour has none" in warning["detail"]
    assert shown(cast, rows[2])["place_warnings"] == []
    with business_scope(cast.business_id):
        assert {row.place_id for row in sessions(cast.ben.id)} == {None}


def test_when_the_travel_is_called_off_everything_is_as_before(cast: Cast, rows: list[PlannedSession]) -> None:
    absence = travel(cast, hotel(cast)).json()
    cast.api(cast.coach).delete(f"/api/v1/absences/{absence['id']}", HTTP_IF_MATCH="*")
    assert places(cast) == [None] * 6
    back = shown(cast, rows[0])
    assert (back["planned_high_min"], back["place_warnings"]) == (float(rows[0].planned_high_min), [])


def test_a_session_moved_into_the_travel_is_planned_for_its_place_and_out_of_it_is_not(
    cast: Cast, rows: list[PlannedSession]
) -> None:
    travel(cast, hotel(cast))
    api = cast.api(cast.coach)
    api.patch(f"{PATH}/{rows[3].id}", {"local_date": "2031-03-11"}, format="json", HTTP_IF_MATCH="*")
    api.patch(f"{PATH}/{rows[0].id}", {"local_date": "2031-03-15"}, format="json", HTTP_IF_MATCH="*")
    assert [name is not None for name in places(cast)] == [False, True, False, True, False, False]


def test_a_program_assigned_over_a_travel_knows_of_it(cast: Cast) -> None:
    travel(cast, hotel(cast))
    with business_scope(cast.business_id):
        assign(cast.coach, published(paired()), cast.anna.id)
    assert [name is not None for name in places(cast)] == [True, True, False, False, False, False]


def test_a_weeks_sessions_are_for_the_place_where_all_their_days_are_spent_there(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(paired()), cast.anna.id, calendar="any_days_in_week", weekdays=None)
    place = hotel(cast)
    travel(cast, place)
    assert places(cast) == [None] * 6
    travel(cast, place, ends_on="2031-03-16")
    assert [name is not None for name in places(cast)] == [True] * 3 + [False] * 3


def test_a_place_that_changes_is_reckoned_with_anew(cast: Cast, rows: list[PlannedSession]) -> None:
    place = hotel(cast)
    travel(cast, place)
    path = f"/api/v1/clients/{cast.anna.id}/places/{place}"
    kit = ["dumbbells", "barbell", "plates", "rack", "squat_stand", "bench"]
    changed = cast.api(cast.coach).patch(
        path, {"kind": "gym", "equipment": kit[:4] + kit[5:]}, format="json", HTTP_IF_MATCH="*"
    )
    assert changed.status_code == 200, changed.content
    there = shown(cast, rows[0])
    assert there["planned_high_min"] == float(rows[0].planned_high_min)
    assert there["place_warnings"] == []


def test_a_place_removed_leaves_the_travel_without_one(cast: Cast, rows: list[PlannedSession]) -> None:
    place = hotel(cast)
    absence = travel(cast, place).json()
    path = f"/api/v1/clients/{cast.anna.id}/places/{place}"
    assert cast.api(cast.coach).delete(path, HTTP_IF_MATCH="*").status_code == 204
    assert places(cast) == [None] * 6
    assert shown(cast, rows[0])["planned_high_min"] == float(rows[0].planned_high_min)
    assert cast.api(cast.coach).get(f"/api/v1/absences/{absence['id']}").json()["place"] is None


def test_loads_there_rise_in_the_places_own_steps(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(kind="percent", of="tested", pct="75")), cast.anna.id)
        record_reference_load(
            actor=acting(cast.coach),
            client_id=cast.anna.id,
            exercise="back-squat",
            kind="tested",
            load=Load(Decimal(110), "kg"),
            on_date=NOON.date(),
            now=NOON,
        )
    travel(cast, hotel(cast, load_steps=[{"loading": "barbell", "step_kg": 10}]))
    with business_scope(cast.business_id):
        loads = [row.prescribed["blocks"][0]["slots"][0]["sets"][1]["load_kg"] for row in sessions(cast.anna.id)]
    assert loads == ["80", "80", "82.5", "82.5", "82.5", "82.5"]


def test_a_place_needs_the_treatment_and_the_client_that_it_is_for(
    cast: Cast, neighbour: Cast, rows: list[PlannedSession]
) -> None:
    place = hotel(cast)
    with business_scope(cast.business_id):
        bens = Place.objects.create(client=cast.ben, name="Garage", kind="home")
    with business_scope(neighbour.business_id):
        theirs = Place.objects.create(client=neighbour.anna, name="Garage", kind="home")
    for answer in (
        travel(cast, place, treatment="pause"),
        travel(cast, str(bens.id)),
        travel(cast, str(theirs.id)),
    ):
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/place")
    assert travel(cast, None).status_code == 201
    assert places(cast) == [None] * 6


def test_one_and_fifty_sessions_with_places_are_listed_in_as_many_statements(cast: Cast) -> None:
    with business_scope(cast.business_id):
        clients = [
            Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg")
            for number in range(20)
        ]
        assign(cast.coach, published(paired()), *(client.id for client in clients))
        for client in clients:
            place = Place.objects.create(client=client, name="Cabin", kind="home", equipment=["kettlebells"])
            record_absence(
                actor=acting(cast.coach),
                client_id=client.id,
                starts_on=MONDAY,
                ends_on=MONDAY + timedelta(days=13),
                kind="travel",
                treatment="travel_kit",
                place_id=place.id,
                now=NOON,
            )
    api = cast.api(cast.coach)
    assert statements_of(api, f"{PATH}?limit=1") == statements_of(api, f"{PATH}?limit=50")
    items = api.get(f"{PATH}?limit=50").json()["items"]
    assert all(item["place_warnings"] for item in items)


def test_travelling_over_one_and_fifty_sessions_takes_as_many_statements(cast: Cast) -> None:
    counts = []
    with business_scope(cast.business_id):
        for client, weeks in ((cast.anna, 1), (cast.ben, 17)):
            document = {"weeks": [{"week_number": n, "days": [day(d) for d in (1, 2, 3)]} for n in range(1, weeks + 1)]}
            assign(cast.coach, published(document), client.id)
            place = Place.objects.create(client=client, name="Cabin", kind="home")
            with CaptureQueriesContext(connection) as captured:
                record_absence(
                    actor=acting(cast.coach),
                    client_id=client.id,
                    starts_on=date(2031, 3, 10),
                    ends_on=date(2031, 3, 10) + timedelta(days=300),
                    kind="travel",
                    treatment="travel_kit",
                    place_id=place.id,
                    now=NOON,
                )
            counts.append(len(captured))
    assert counts[0] == counts[1]
