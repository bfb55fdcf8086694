"""Clients: who sees them, who takes them on, and where they are."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine

from coaching import registry
from coaching.models import Client, ClientZone
from coaching.tenancy.scope import business_scope
from tests.coaching.queries import statements_of
from tests.scenario import NOON, Cast

PATH = "/api/v1/clients"


def _names(api: Any, query: str = "") -> list[str]:
    return [item["name"] for item in api.get(f"{PATH}{query}").json()["items"]]


def _add(api: Any, **facts: Any) -> Any:
    return api.post(PATH, {"name": "Dora", **facts}, format="json")


def _change(api: Any, client: Client, **changes: Any) -> Any:
    return api.patch(f"{PATH}/{client.id}", changes, format="json", HTTP_IF_MATCH="*")


@pytest.fixture
def zone_changes() -> Iterator[list[tuple[UUID, str, datetime]]]:
    """What the apps are told of changed zones."""
    told: list[tuple[UUID, str, datetime]] = []

    def follow(client_id: UUID, zone: str, at: datetime) -> None:
        told.append((client_id, zone, at))

    registry.on_client_zone_changed.append(follow)
    yield told
    registry.on_client_zone_changed.remove(follow)


def test_each_caller_sees_the_clients_they_may(cast: Cast, neighbour: Cast) -> None:
    everyone = ["Anna", "Ben", "Carl"]
    assert _names(cast.api(cast.owner)) == everyone
    assert _names(cast.api(cast.head)) == everyone
    assert _names(cast.api(cast.coach)) == ["Anna", "Ben"]
    assert _names(cast.api(cast.other_coach)) == ["Carl"]
    assert _names(cast.api(cast.client_member)) == ["Anna"]
    assert _names(cast.key("clients:read")) == everyone
    assert _names(cast.key("clients:read", clients=[cast.ben.id])) == ["Ben"]
    assert _names(cast.api(cast.viewer)) == []


@pytest.mark.parametrize("who", ["other_coach", "viewer", "client_member"])
def test_a_client_of_another_is_not_there(cast: Cast, who: str) -> None:
    api = cast.api(getattr(cast, who))
    assert api.get(f"{PATH}/{cast.ben.id}").status_code == 404


def test_the_list_is_filtered_by_coach_state_and_name(cast: Cast) -> None:
    api = cast.api(cast.owner)
    assert _names(api, f"?coach={cast.coach.id}") == ["Anna", "Ben"]
    assert _names(api, "?name=c") == ["Carl"]
    assert _names(api, "?name=%25") == []
    _change(api, cast.ben, state="paused")
    assert _names(api, "?state=paused,lead") == ["Ben"]
    refused = api.get(f"{PATH}?state=gone")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (400, "?state")


def test_a_neighbours_coach_in_the_filter_is_unknown(cast: Cast, neighbour: Cast) -> None:
    answers = [cast.api(cast.owner).get(f"{PATH}?coach={other}") for other in (neighbour.coach.id, uuid4())]
    assert [answer.json()["code"] for answer in answers] == ["unknown_object"] * 2


def test_a_client_is_taken_on_in_the_zone_and_unit_of_the_business(cast: Cast) -> None:
    answer = _add(cast.api(cast.coach), weekdays=[4, 0, 2], equipment=["barbell", "bench"], max_hr_bpm=188)
    client = answer.json()
    assert answer.status_code == 201
    assert answer.headers["Location"] == f"{PATH}/{client['id']}"
    assert answer.headers["ETag"] == '"v1"'
    assert (client["coach"], client["time_zone"], client["unit"]) == (str(cast.coach.id), "Europe/Paris", "kg")
    assert (client["weekdays"], client["state"], client["max_hr_bpm"]) == ([0, 2, 4], "active", 188)
    with business_scope(cast.business_id):
        (zone,) = ClientZone.objects.filter(client_id=client["id"])
    assert zone.zone == "Europe/Paris"
    assert zone.from_instant < datetime(1950, 1, 1, tzinfo=UTC)


def test_a_coach_takes_on_clients_for_themselves_only_and_a_head_for_anyone(cast: Cast) -> None:
    refused = _add(cast.api(cast.coach), coach=str(cast.other_coach.id))
    assert (refused.status_code, refused.json()["errors"][0]["code"]) == (400, "other_coach")
    assert _add(cast.api(cast.head), coach=str(cast.other_coach.id)).status_code == 201
    refused = _change(cast.api(cast.coach), cast.ben, coach=str(cast.other_coach.id))
    assert refused.json()["errors"][0]["code"] == "other_coach"
    assert _change(cast.api(cast.coach), cast.ben, coach=str(cast.coach.id)).status_code == 200


def test_a_coach_who_is_none_is_unknown(cast: Cast, neighbour: Cast) -> None:
    owner = cast.api(cast.owner)
    for other in (neighbour.coach.id, cast.viewer.id, cast.client_member.id, uuid4()):
        for answer in (_add(owner, coach=str(other)), _change(owner, cast.ben, coach=str(other))):
            assert answer.status_code == 400
            assert answer.json()["code"] == "unknown_object"
            assert answer.json()["errors"][0]["pointer"] == "#/coach"


@pytest.mark.parametrize(
    ("facts", "pointer"),
    [
        ({"name": "  "}, "#/name"),
        ({"name": "x" * 201}, "#/name"),
        ({"email": "not an address"}, "#/email"),
        ({"weekdays": [7]}, "#/weekdays/0"),
        ({"weekdays": [1, 1]}, "#/weekdays"),
        ({"unit": "stone"}, "#/unit"),
        ({"equipment": ["Barbell!"]}, "#/equipment/0"),
        ({"equipment": "barbell"}, "#/equipment"),
        ({"max_complexity": 4}, "#/max_complexity"),
        ({"session_min": 5}, "#/session_min"),
        ({"birth_date": "2031-03-07"}, "#/birth_date"),
        ({"birth_date": "1899-12-31"}, "#/birth_date"),
        ({"training_since": "2040-01-01"}, "#/training_since"),
        ({"coach": "Cora"}, "#/coach"),
        ({"membership": str(uuid4())}, "#/membership"),
        ({"business_id": str(uuid4())}, "#/business_id"),
        ({"created_at": "2031-01-01T00:00:00Z"}, "#/created_at"),
        ({"state": "happy"}, "#/state"),
    ],
)
def test_what_cannot_be_taken_is_refused_and_writes_nothing(cast: Cast, facts: dict[str, Any], pointer: str) -> None:
    with time_machine.travel(NOON, tick=False):
        api = cast.api(cast.owner)
        for answer in (_add(api, **facts), _change(api, cast.ben, **facts)):
            assert answer.status_code == 400
            assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]
    assert _names(api) == ["Anna", "Ben", "Carl"]
    assert api.get(f"{PATH}/{cast.ben.id}").headers["ETag"] == '"v1"'


def test_a_care_group_misspelt_would_switch_nothing_off_and_is_refused(cast: Cast) -> None:
    api = cast.api(cast.owner)
    fault = _add(api, care_groups=["eating_disorder"]).json()["errors"][0]
    assert (fault["pointer"], fault["code"]) == ("#/care_groups/0", "unknown_care_group")
    assert "eating_disorder_history" in fault["detail"]
    assert _add(api, care_groups=["pregnant", "over_65"]).json()["care_groups"] == ["over_65", "pregnant"]


def test_equipment_that_no_app_knows_is_refused_with_the_nearest_word(cast: Cast) -> None:
    before = set(registry.known_equipment)
    registry.known_equipment |= {"barbell"}
    try:
        answer = _add(cast.api(cast.owner), equipment=["barbel"])
    finally:
        registry.known_equipment.clear()
        registry.known_equipment |= before
    fault = answer.json()["errors"][0]
    assert (fault["pointer"], fault["code"]) == ("#/equipment/0", "unknown_equipment")
    assert "'barbell'" in fault["detail"]


def test_a_new_zone_holds_from_now_on_and_the_apps_are_told(
    cast: Cast, zone_changes: list[tuple[UUID, str, datetime]]
) -> None:
    with time_machine.travel(NOON, tick=False):
        api = cast.api(cast.coach)
        assert _change(api, cast.anna, name="Ann", time_zone="Europe/Paris").status_code == 200
        assert zone_changes == []
        assert _change(api, cast.anna, time_zone="Asia/Tokyo").json()["time_zone"] == "Asia/Tokyo"
        assert _change(api, cast.anna, time_zone="Asia/Kathmandu").status_code == 200
    assert zone_changes == [(cast.anna.id, "Asia/Tokyo", NOON), (cast.anna.id, "Asia/Kathmandu", NOON)]
    with business_scope(cast.business_id):
        zones = list(
            ClientZone.objects.filter(client=cast.anna).order_by("from_instant").values_list("zone", "from_instant")
        )
    assert [zone for zone, _at in zones] == ["Europe/Paris", "Asia/Kathmandu"]
    assert zones[-1][1] == NOON


def test_a_client_reads_and_changes_nothing_of_theirs_here(cast: Cast) -> None:
    api = cast.api(cast.client_member)
    assert api.get(f"{PATH}/{cast.anna.id}").json()["name"] == "Anna"
    assert _change(api, cast.anna, name="Ann").status_code == 403


def test_a_neighbour_changes_nothing(cast: Cast, neighbour: Cast) -> None:
    answers = [
        neighbour.api(neighbour.owner).patch(f"{PATH}/{other}", {"name": "X"}, format="json", HTTP_IF_MATCH="*")
        for other in (cast.anna.id, uuid4())
    ]
    assert [answer.status_code for answer in answers] == [404, 404]
    with business_scope(cast.business_id):
        assert Client.objects.get(id=cast.anna.id).name == "Anna"


def test_the_list_costs_the_same_for_one_and_for_fifty(cast: Cast) -> None:
    api = cast.api(cast.owner)
    few = statements_of(api, f"{PATH}?limit=1")
    with business_scope(cast.business_id):
        Client.objects.bulk_create(
            [Client(name=f"C{number}", coach=cast.coach, time_zone="UTC", unit="kg") for number in range(50)]
        )
    assert statements_of(api, f"{PATH}?limit=50") == few
    assert len(api.get(f"{PATH}?limit=50").json()["items"]) == 50
