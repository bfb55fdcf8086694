"""`/prescriptions/pairings`."""

from typing import Any

import pytest

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.models import Version
from tests.scenario import Cast

PATH = "/api/v1/prescriptions/pairings"


def lift(exercise: str, count: int, reps: int, **fields: Any) -> dict[str, Any]:
    return {"exercise": exercise, "sets": [{"count": count, "reps_low": reps}], **fields}


def listed() -> list[dict[str, Any]]:
    return [
        lift("back-squat", 4, 5, goal="strength"),
        lift("bench-press", 4, 6, goal="strength"),
        lift("pull-up", 4, 6, goal="strength"),
        lift("dumbbell-curl", 3, 12, goal="size"),
    ]


def test_pairings_are_worked_out_and_nothing_is_stored(cast: Cast) -> None:
    answer = cast.api(cast.viewer).post(PATH, {"exercises": listed(), "minutes": 60}, format="json")
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert [pairing["kind"] for pairing in body["pairings"]][-1] == "straight"
    best = body["pairings"][0]
    assert best["fits"] is True
    assert best["saved_min"] > 0
    assert sorted(index for block in best["blocks"] for index in block["exercise_indexes"]) == [0, 1, 2, 3]
    assert all(block["reasons"] for block in best["blocks"])
    keys = [slot["slot_key"] for block in best["session"]["blocks"] for slot in block["slots"]]
    assert set(best["effective_rests"]) == set(keys)
    assert best["timeline"]["events"]
    assert body["cautions"]
    with business_scope(cast.business_id):
        assert not Version.objects.exists()


def test_a_suggested_session_can_be_analysed_as_it_is(cast: Cast) -> None:
    api = cast.api(cast.coach)
    best = api.post(PATH, {"exercises": listed()}, format="json").json()["pairings"][0]
    analysis = api.post("/api/v1/prescriptions/analyse", {"session": best["session"]}, format="json").json()
    assert analysis["timeline"]["high_s"] == best["timeline"]["high_s"]
    assert not [finding for finding in analysis["findings"] if finding["code"] == "short_rest"]


def test_a_session_too_long_for_the_client_comes_with_the_smallest_cuts(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(session_min=18)
    asked = {"exercises": listed(), "client": str(cast.anna.id)}
    best = cast.api(cast.coach).post(PATH, asked, format="json").json()["pairings"][0]
    assert (best["fits"], best["over_min"] > 0) == (False, True)
    assert best["cuts"]["cuts"]
    assert best["cuts"]["timeline"]["high_min"] <= 18
    assert best["cuts"]["session"]["blocks"]


def test_more_than_twelve_are_refused_with_a_sentence(cast: Cast) -> None:
    many = [lift("dumbbell-curl", 3, 10) for _ in range(13)]
    answer = cast.api(cast.coach).post(PATH, {"exercises": many}, format="json")
    assert answer.status_code == 400
    (fault,) = answer.json()["errors"]
    assert (fault["pointer"], fault["code"]) == ("#/exercises", "too_many")
    assert "at most 12" in fault["detail"]


@pytest.mark.parametrize(
    ("change", "tail", "code"),
    [
        ({"sets": [{"count": 3, "reps_low": 5, "tempo": "411"}]}, "/sets/0/tempo", "tempo"),
        ({"sets": []}, "/sets", "no_sets"),
        ({"sets": [{"kind": "warm_up", "reps_low": 5}]}, "", "pairing"),
        ({"sets": [{"reps_low": 5, "load": {"kind": "same_as", "slot_key": "E1"}}]}, "", "pairing"),
        ({"exercise": "bench-pres"}, "/exercise", "unknown_exercise"),
        ({"gaol": "size"}, "/gaol", "unknown_field"),
    ],
)
def test_a_fault_is_told_at_its_exercise(cast: Cast, change: dict[str, Any], tail: str, code: str) -> None:
    exercises = listed()
    exercises[1].update(change)
    answer = cast.api(cast.coach).post(PATH, {"exercises": exercises}, format="json")
    assert answer.status_code == 400
    assert [(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]] == [(f"#/exercises/1{tail}", code)]


@pytest.mark.parametrize("wrong", [{}, {"exercises": []}, {"exercises": "squat"}, {"exercises": ["squat"]}])
def test_what_is_no_list_of_exercises_is_refused(cast: Cast, wrong: dict[str, Any]) -> None:
    assert cast.api(cast.coach).post(PATH, wrong, format="json").status_code == 400


def test_at_home_less_time_goes_by_between_stations(cast: Cast) -> None:
    api = cast.api(cast.coach)
    small = [lift("dumbbell-curl", 3, 20, goal="size"), lift("bodyweight-squat", 3, 20, goal="size")]
    gym, home = (
        api.post(PATH, {"exercises": small, "place": place}, format="json").json()["pairings"][0]
        for place in ("gym", "home")
    )
    assert home["timeline"]["high_s"] < gym["timeline"]["high_s"]


def test_someone_elses_client_is_unknown(cast: Cast, neighbour: Cast) -> None:
    for client in (cast.carl, neighbour.anna):
        answer = cast.api(cast.coach).post(PATH, {"exercises": listed(), "client": str(client.id)}, format="json")
        assert (answer.status_code, answer.json()["code"]) == (400, "unknown_object")


def test_clients_and_keys_are_not_answered(cast: Cast) -> None:
    for api in (cast.api(cast.client_member), cast.key("plans:read")):
        assert api.post(PATH, {"exercises": listed()}, format="json").status_code == 403
