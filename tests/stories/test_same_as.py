"""Loads that are another slot's: as planned there, and as lifted there once that is logged."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from coaching.tenancy.scope import business_scope
from tests.logs.logging import post, session, set_
from tests.programs.documents import MONDAY, assign, day, published, sessions
from tests.scenario import NOON, Cast


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON.replace(day=12), tick=False):
        yield


def slot(key: str, exercise: str, *sets: dict[str, Any]) -> dict[str, Any]:
    return {"slot_key": key, "exercise": exercise, "goal": "strength", "rest_s": 120, "sets": list(sets)}


SAME = {"count": 3, "kind": "work", "reps_low": 8, "load": {"kind": "same_as", "slot_key": "A1"}}
BY_EFFORT = {"count": 3, "kind": "work", "reps_low": 5, "rpe": 8}


def planned(cast: Cast, *first: dict[str, Any], exercise: str = "bench-press") -> str:
    """Assign one session: A1 with the given sets, then A2 at the same load; return its id."""
    slots = slot("A1", "back-squat", *first), slot("A2", exercise, SAME)
    document = {"weeks": [{"week_number": 1, "days": [day(1, *slots)]}]}
    with business_scope(cast.business_id):
        assign(cast.coach, published(document), cast.anna.id, weekdays=(0,))
        return str(sessions(cast.anna.id)[0].id)


def log(cast: Cast, planned_id: str, load_kg: Any = 80, **more: Any) -> None:
    given: dict[str, Any] = {"slot": "A1", "set_number": 1, "kind": "work", "reps": 5, "load_kg": load_kg}
    answer = post(
        cast.key("logs:write"),
        session_logs=[session(cast.anna, local_date=str(MONDAY), planned_session=planned_id)],
        set_logs=[set_(cast.anna, **(given | more))],
    )
    assert answer["summary"]["refused"] == 0, answer


def told(cast: Cast, planned_id: str) -> tuple[str, str | None, str]:
    read = cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{planned_id}").json()
    line = read["prescribed"]["blocks"][-1]["slots"][-1]["sets"][0]
    return line["load_status"], line["load_kg"], line["resolved_from"]


UNKNOWN = ("on_the_day", None, "The load used in A1.")


def test_a_load_by_effort_is_anothers_once_it_is_logged(cast: Cast) -> None:
    planned_id = planned(cast, BY_EFFORT)
    assert told(cast, planned_id) == UNKNOWN
    log(cast, planned_id)
    assert told(cast, planned_id) == ("resolved", "80", "Same as A1, logged at 80 kg.")
    card = cast.api(cast.client_member).get(f"/api/v1/planned-sessions/{planned_id}/card").json()
    load = card["blocks"][-1]["exercises"][-1]["sets"][0]["load"]
    assert load["words"] == "80 kg"
    assert "Same as A1, logged at 80 kg." in str(load)


def test_a_corrected_set_changes_it_and_a_deleted_one_takes_it_back(cast: Cast) -> None:
    planned_id = planned(cast, BY_EFFORT)
    log(cast, planned_id)
    log(cast, planned_id, 85)
    assert told(cast, planned_id)[1:] == ("85", "Same as A1, logged at 85 kg.")
    api = cast.key("logs:read", "logs:write")
    (one,) = api.get(f"/api/v1/set-logs?client={cast.anna.id}").json()["items"]
    gone = api.delete(f"/api/v1/set-logs/{one['id']}", HTTP_IF_MATCH="*")
    assert gone.status_code in {200, 204}, gone.content
    assert told(cast, planned_id) == UNKNOWN


def test_a_load_that_is_written_is_anothers_at_planning_already_and_gives_way_to_what_is_lifted(cast: Cast) -> None:
    planned_id = planned(cast, BY_EFFORT | {"load": {"kind": "absolute", "load_kg": "80"}})
    assert told(cast, planned_id) == ("resolved", "80", "Same as A1, planned at 80 kg.")
    log(cast, planned_id, 77.5)
    assert told(cast, planned_id) == ("resolved", "77.5", "Same as A1, logged at 77.5 kg.")


def test_a_set_on_the_way_up_stands_in_until_the_work_is_done(cast: Cast) -> None:
    planned_id = planned(cast, {"count": 1, "kind": "ramp", "reps_low": 3, "rpe": 8}, BY_EFFORT)
    log(cast, planned_id, 100, kind="ramp")
    assert told(cast, planned_id)[1] == "100"
    log(cast, planned_id, 90, set_number=2, external_id="work-1")
    assert told(cast, planned_id)[1] == "90"


def test_warm_ups_and_other_exercises_resolve_nothing(cast: Cast) -> None:
    planned_id = planned(cast, BY_EFFORT)
    log(cast, planned_id, 40, kind="warm_up")
    log(cast, planned_id, 60, exercise="bench-press", external_id="other")
    assert told(cast, planned_id) == UNKNOWN
