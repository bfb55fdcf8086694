"""The business's own exercises, and its own words for shared ones."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from coaching.models import StaleWeek
from coaching.tenancy.scope import business_scope
from programs.actions.catalogue import refresh_catalogue
from programs.models import PlannedSession
from tests.logs.logging import post, session, set_
from tests.programs.documents import assign, published, sessions
from tests.scenario import NOON, Cast

PATH = "/api/v1/exercises"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def own(**fields: Any) -> dict[str, Any]:
    sent = {
        "key": "yard-squat",
        "name": "Yard squat",
        "aliases": ["log squat"],
        "pattern": "squat",
        "starts_at": "shortened",
        "restful_end": "shortened",
        "rests_muscles": ["quadriceps"],
        "primary_muscles": ["quadriceps", "glutes"],
        "secondary_muscles": [],
        "laterality": "bilateral",
        "measure": "reps",
        "phase_words": {
            "eccentric": "log down",
            "lengthened": "in the hole",
            "concentric": "log up",
            "shortened": "standing tall",
        },
        "station": "open_ground",
        "equipment": [],
        "load_basis": "total",
        "loading": "sandbag",
        "bodyweight_share": 0,
        "repetition_s": 4,
        "complexity": 2,
        **fields,
    }
    return {name: value for name, value in sent.items() if value is not ...}


def create(cast: Cast, **fields: Any) -> Any:
    return cast.api(cast.coach).post(PATH, own(**fields), format="json")


def change(cast: Cast, exercise: str, changes: dict[str, Any], match: str = "*") -> Any:
    return cast.api(cast.coach).patch(f"{PATH}/{exercise}", changes, format="json", HTTP_IF_MATCH=match)


def faults(answer: Any) -> dict[str, str]:
    assert answer.status_code == 400, answer.content
    assert answer.json()["code"] == "invalid_exercise"
    return {fault["pointer"]: fault["detail"] for fault in answer.json()["errors"]}


def test_an_own_exercise_is_added_and_used_like_any_other(cast: Cast) -> None:
    answer = create(cast)
    assert answer.status_code == 201, answer.content
    made = answer.json()
    assert (made["origin"], made["customised"], made["phase_words"]["lengthened"]) == ("own", False, "in the hole")
    assert (answer.headers["ETag"], answer.headers["Location"]) == ('"v1"', f"{PATH}/yard-squat")
    api = cast.api(cast.coach)
    assert api.get(f"{PATH}/yard-squat").json() == made
    assert made["id"] in {item["id"] for item in api.get(f"{PATH}?search=log+squat").json()["items"]}
    offered = api.get(f"{PATH}/back-squat/substitutes").json()["substitutes"]
    assert "yard-squat" in {found["exercise"] for found in offered}


def test_every_fault_of_sense_comes_at_its_place(cast: Cast) -> None:
    found = faults(
        create(cast, starts_at=None, rests_muscles=["calves"], load_basis="added", aliases=["Log squat", "log-squat"])
    )
    assert found.keys() == {"#/starts_at", "#/rests_muscles", "#/load_basis", "#/aliases"}
    assert found["#/rests_muscles"].startswith("'calves' is not worked by this exercise")


def test_fields_of_the_wrong_shape_come_at_their_place(cast: Cast) -> None:
    found = faults(create(cast, pattern="sqaut", complexity=9, name=..., phase_words={"eccentric": "down"}, wieght=1))
    assert {"#/pattern", "#/complexity", "#/name", "#/phase_words/lengthened", "#/wieght"} <= found.keys()


def test_a_name_that_stands_for_another_is_refused(cast: Cast) -> None:
    found = faults(create(cast, key="back-squat", name="Pull up", aliases=["yard work", "bench-press"]))
    assert found.keys() == {"#/key", "#/name", "#/aliases/1"}
    assert found["#/name"] == "'Pull up' stands for pull-up already; choose another, or change pull-up."


def test_a_key_that_is_too_long_is_refused(cast: Cast) -> None:
    assert faults(create(cast, key="a" * 62)).keys() == {"#/key"}


def test_a_changed_shared_exercise_is_the_businesss_own_from_then_on(cast: Cast, neighbour: Cast) -> None:
    answer = change(cast, "back-squat", {"name": "House squat", "aliases": []})
    assert (answer.status_code, answer.json()["customised"], answer.headers["ETag"]) == (200, True, '"v2"')
    with business_scope(cast.business_id):
        assert refresh_catalogue(business_id=cast.business_id, now=NOON).updated == 0
    assert cast.api(cast.coach).get(f"{PATH}/back-squat").json()["name"] == "House squat"
    assert neighbour.api(neighbour.coach).get(f"{PATH}/back-squat").json()["name"] == "Back squat"


def test_sessions_to_come_take_the_new_words_and_times(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id)
        before = sessions(cast.anna.id)
        PlannedSession.objects.filter(id=before[0].id).update(state="done")
    changed = change(cast, "back-squat", {"name": "House squat", "restful_end": "none", "rests_muscles": []})
    assert changed.status_code == 200, changed.content
    with business_scope(cast.business_id):
        after = sessions(cast.anna.id)
    names = [row.prescribed["blocks"][0]["slots"][0]["exercise_name"] for row in after]
    assert names == ["Back squat"] + ["House squat"] * 5


def test_weeks_are_computed_anew_when_muscles_change_and_not_for_a_name(cast: Cast) -> None:
    post(cast.key("logs:write"), session_logs=[session(cast.anna)], set_logs=[set_(cast.anna)])
    with business_scope(cast.business_id):
        StaleWeek.objects.all().delete()
    assert change(cast, "back-squat", {"name": "House squat"}).status_code == 200
    with business_scope(cast.business_id):
        assert not StaleWeek.objects.exists()
    assert change(cast, "back-squat", {"secondary_muscles": ["adductors", "calves"]}).status_code == 200
    with business_scope(cast.business_id):
        assert [str(row.week_start) for row in StaleWeek.objects.all()] == ["2026-03-02"]


def test_what_logs_rest_on_never_changes(cast: Cast) -> None:
    found = faults(change(cast, "back-squat", {"key": "squat-b", "measure": "seconds", "load_basis": "added"}))
    assert found.keys() == {"#/key", "#/measure", "#/load_basis"}
    assert change(cast, "back-squat", {"measure": "reps", "complexity": 3}).status_code == 200


def test_a_change_that_makes_no_sense_leaves_it_as_it_was(cast: Cast) -> None:
    assert faults(change(cast, "back-squat", {"restful_end": "none"})).keys() == {"#/rests_muscles"}
    assert change(cast, "back-squat", {"complexity": 3}, match='"v7"').status_code == 412
    answer = cast.api(cast.coach).patch(f"{PATH}/back-squat", {"complexity": 3}, format="json")
    assert answer.status_code == 428
    assert cast.api(cast.coach).get(f"{PATH}/back-squat").json()["row_version"] == 1


def test_only_coaches_write_and_a_neighbours_exercise_is_not_there(cast: Cast, neighbour: Cast) -> None:
    for member in (cast.viewer, cast.client_member):
        assert cast.api(member).post(PATH, own(), format="json").status_code == 403
        answer = cast.api(member).patch(f"{PATH}/back-squat", {"complexity": 1}, format="json", HTTP_IF_MATCH="*")
        assert answer.status_code == 403
    theirs = neighbour.api(neighbour.owner).get(f"{PATH}/back-squat").json()["id"]
    assert change(cast, theirs, {"complexity": 1}).status_code == 404
    assert change(cast, "no-such-lift", {"complexity": 1}).status_code == 404
