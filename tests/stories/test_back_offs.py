"""Back-offs: their loads are found in the request that logs the day's top set."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from tests.logs.logging import post, session, set_
from tests.programs.documents import MONDAY, assign, day, published, sessions
from tests.scenario import NOON, Cast


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON.replace(day=12), tick=False):
        yield


def slot(key: str = "A1", *, top: str = "top", exercise: str = "back-squat") -> dict[str, Any]:
    """Two warm-ups, one top set, three back-offs at a tenth less."""
    return {
        "slot_key": key,
        "exercise": exercise,
        "goal": "strength",
        "rest_s": 180,
        "sets": [
            {"count": 2, "kind": "warm_up", "reps_low": 5},
            {"count": 1, "kind": top, "reps_low": 3, "rpe": 8},
            {"count": 3, "kind": "back_off", "reps_low": 5, "load": {"kind": "relative_to_top", "pct": "-10"}},
        ],
    }


def planned(cast: Cast, *clients: UUID, slots: tuple[dict[str, Any], ...] = ()) -> list[str]:
    """Assign a week of one session; return the sessions' ids, client by client."""
    document = {"weeks": [{"week_number": 1, "days": [day(1, *(slots or (slot(),)))]}]}
    with business_scope(cast.business_id):
        assign(cast.coach, published(document), *clients, weekdays=(0,))
        return [str(sessions(client)[0].id) for client in clients]


def log(cast: Cast, planned_id: str, *sets: dict[str, Any]) -> None:
    answer = post(
        cast.key("logs:write"),
        session_logs=[session(cast.anna, local_date=str(MONDAY), planned_session=planned_id)],
        set_logs=list(sets),
    )
    assert answer["summary"]["refused"] == 0, answer


def lifted(cast: Cast, load_kg: Any = 100, **more: Any) -> dict[str, Any]:
    given: dict[str, Any] = {"slot": "A1", "set_number": 3, "kind": "top", "reps": 3, "load_kg": load_kg}
    return set_(cast.anna, **(given | more))


def back_off(cast: Cast, planned_id: str, place: int = 0) -> dict[str, Any]:
    read = cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{planned_id}").json()
    line: dict[str, Any] = read["prescribed"]["blocks"][place]["slots"][0]["sets"][2]
    return line


def told(line: dict[str, Any]) -> tuple[str, str | None, str]:
    return line["load_status"], line["load_kg"], line["resolved_from"]


UNKNOWN = ("on_the_day", None, "-10 % of the day's top set, once it is lifted.")


def test_the_back_offs_are_known_once_the_top_set_is_logged(cast: Cast) -> None:
    (planned_id,) = planned(cast, cast.anna.id)
    assert told(back_off(cast, planned_id)) == UNKNOWN
    log(cast, planned_id, lifted(cast))
    line = back_off(cast, planned_id)
    assert told(line) == ("resolved", "90", "10 % under today's top set, 100 kg.")
    assert line["load_lb"] == "198.42"
    card = cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{planned_id}/card").json()
    assert card["blocks"][0]["exercises"][0]["sets"][2]["load"]["words"] == "90 kg"


def test_what_can_not_be_loaded_is_rounded_down_and_said(cast: Cast) -> None:
    (planned_id,) = planned(cast, cast.anna.id)
    log(cast, planned_id, lifted(cast, 102.5))
    # 102.5 x 0.9 = 92.25, and plates make steps of 2.5.
    assert told(back_off(cast, planned_id)) == (
        "resolved",
        "90",
        "10 % under today's top set, 102.5 kg. Rounded down to 90 kg.",
    )


def test_a_corrected_top_set_resolves_them_anew_and_a_deleted_one_takes_them_back(cast: Cast) -> None:
    (planned_id,) = planned(cast, cast.anna.id)
    log(cast, planned_id, lifted(cast))
    log(cast, planned_id, lifted(cast, 110))
    assert told(back_off(cast, planned_id)) == (
        "resolved",
        "97.5",
        "10 % under today's top set, 110 kg. Rounded down to 97.5 kg.",
    )
    api = cast.key("logs:read", "logs:write")
    (one,) = api.get(f"/api/v1/set-logs?client={cast.anna.id}").json()["items"]
    gone = api.delete(f"/api/v1/set-logs/{one['id']}", HTTP_IF_MATCH="*")
    assert gone.status_code in {200, 204}, gone.content
    assert told(back_off(cast, planned_id)) == UNKNOWN


def test_the_session_is_at_another_version_only_when_it_reads_otherwise(cast: Cast) -> None:
    (planned_id,) = planned(cast, cast.anna.id)

    def version() -> int:
        read: int = cast.api(cast.coach).get(f"/api/v1/planned-sessions/{planned_id}").json()["row_version"]
        return read

    log(cast, planned_id, lifted(cast))
    first = version()
    log(cast, planned_id, lifted(cast))
    assert version() == first
    log(cast, planned_id, lifted(cast, 120))
    assert version() > first


def test_an_app_that_says_no_kind_is_understood_by_the_number_of_the_set(cast: Cast) -> None:
    (planned_id,) = planned(cast, cast.anna.id)
    log(cast, planned_id, lifted(cast, 60, external_id="w", set_number=1, kind=...))
    assert told(back_off(cast, planned_id)) == UNKNOWN
    log(cast, planned_id, lifted(cast, kind=...))
    assert told(back_off(cast, planned_id))[:2] == ("resolved", "90")


def test_on_a_ramp_the_heaviest_set_so_far_counts(cast: Cast) -> None:
    (planned_id,) = planned(cast, cast.anna.id, slots=(slot(top="ramp"),))
    log(cast, planned_id, lifted(cast, 80, kind="ramp"))
    assert told(back_off(cast, planned_id))[1] == "70"
    log(cast, planned_id, lifted(cast, 100, kind="ramp", external_id="s1-2"))
    assert told(back_off(cast, planned_id))[1] == "90"


@pytest.mark.parametrize(
    "other",
    [
        {"outcome": "skipped", "reps": None},
        {"exercise": "bench-press"},
        {"slot": "B1"},
        {"kind": "back_off", "set_number": 4},
    ],
)
def test_a_set_that_is_no_top_set_of_the_slot_resolves_nothing(cast: Cast, other: dict[str, Any]) -> None:
    (planned_id,) = planned(cast, cast.anna.id)
    log(cast, planned_id, lifted(cast, **other))
    assert told(back_off(cast, planned_id)) == UNKNOWN


def test_each_slot_has_its_own_top_set(cast: Cast) -> None:
    (planned_id,) = planned(cast, cast.anna.id, slots=(slot(), slot("B1", exercise="bench-press")))
    log(cast, planned_id, lifted(cast, 60, slot="B1", exercise="bench-press"))
    assert told(back_off(cast, planned_id)) == UNKNOWN
    assert told(back_off(cast, planned_id, 1))[1] == "52.5"


def test_pounds_are_taken_in_pounds(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(unit="lb")
    (planned_id,) = planned(cast, cast.anna.id)
    log(cast, planned_id, lifted(cast, ..., load_lb=250))
    line = back_off(cast, planned_id)
    assert (line["load_unit"], line["load_lb"]) == ("lb", "225")
    assert line["resolved_from"] == "10 % under today's top set, 250 lb."


def test_forty_top_sets_resolve_in_as_many_statements_as_one(cast: Cast) -> None:
    key, counts = cast.key("logs:write"), []
    post(key)
    for size in (1, 40):
        with business_scope(cast.business_id):
            clients = [
                Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg")
                for number in range(size)
            ]
        ids = planned(cast, *(client.id for client in clients))
        batch = {
            "session_logs": [
                session(client, local_date=str(MONDAY), planned_session=planned_id)
                for client, planned_id in zip(clients, ids, strict=True)
            ],
            "set_logs": [
                set_(client, slot="A1", set_number=3, kind="top", load_kg=100 + number)
                for number, client in enumerate(clients)
            ],
        }
        with CaptureQueriesContext(connection) as captured:
            post(key, **batch)
        with business_scope(cast.business_id):
            lines = [sessions(client.id)[0].prescribed["blocks"][0]["slots"][0]["sets"][2] for client in clients]
        assert {line["load_status"] for line in lines} == {"resolved"}
        counts.append(len(captured))
    assert counts[0] == counts[1]
