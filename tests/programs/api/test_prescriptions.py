"""`/prescriptions/analyse`."""

from typing import Any

import pytest

from coaching.models import Business, Client
from coaching.tenancy.scope import business_scope
from programs.models import Version
from tests.scenario import Cast

PATH = "/api/v1/prescriptions/analyse"


def pairing(**changes: Any) -> dict[str, Any]:
    def slot(key: str, exercise: str, tempo: str, reps: int) -> dict[str, Any]:
        return {
            "slot_key": key,
            "exercise": exercise,
            "goal": "strength",
            "rest_s": 90,
            "sets": [{"count": 4, "reps_low": reps, "tempo": tempo, "rpe": 8} | changes],
        }

    slots = [slot("A1", "bench-press", "41X1", 6), slot("A2", "pull-up", "31X2", 5)]
    return {"title": "Upper A", "blocks": [{"kind": "paired", "label": "A", "slots": slots}]}


def test_a_session_is_analysed_and_not_stored(cast: Cast) -> None:
    answer = cast.api(cast.viewer).post(PATH, {"session": pairing(), "minutes": 45}, format="json")
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert body["timeline"]["low_min"] <= body["timeline"]["high_min"]
    assert body["timeline"]["minutes_saved"] > 0
    assert body["timeline"]["events"]
    press, pull = body["slots"]
    # 6 repetitions at 41X1 are 6 x (4 + 1 + 1 + 1) s, 5 at 31X2 are 5 x (3 + 1 + 1 + 2) s.
    assert (press["groups"][0]["tut_low_s"], pull["groups"][0]["tut_low_s"]) == (42, 35)
    assert press["exercise_name"] == "Bench press"
    assert press["rest"]["least_s"] >= 90
    assert body["volume"]["work_sets"] == 8
    assert body["cautions"]
    with business_scope(cast.business_id):
        assert not Version.objects.exists()


def test_the_clients_minutes_are_held_against_it(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(session_min=15)
        Business.objects.filter(id=cast.business_id).update(default_session_min=15)
    api = cast.api(cast.coach)
    for more in ({"client": str(cast.anna.id)}, {"client": str(cast.ben.id)}, {"minutes": 15}):
        findings = api.post(PATH, {"session": pairing(), **more}, format="json").json()["findings"]
        assert [finding for finding in findings if finding["unit"] == "min"], more


@pytest.mark.parametrize(
    ("change", "tail", "code"),
    [
        ({"tempo": "4X11"}, "/tempo", "tempo"),
        ({"tempo": "411"}, "/tempo", "tempo"),
        ({"load": {"kind": "absolute", "load_kg": 80, "load_lb": 175}}, "/load", "one_unit"),
        ({"repz": 5}, "/repz", "unknown_field"),
        ({"reps_low": "five"}, "/reps_low", "wrong_type"),
    ],
)
def test_a_fault_is_told_at_its_place(cast: Cast, change: dict[str, Any], tail: str, code: str) -> None:
    answer = cast.api(cast.coach).post(PATH, {"session": pairing(**change)}, format="json")
    assert answer.status_code == 400
    assert answer.headers["Content-Type"] == "application/problem+json"
    faults = {(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]}
    assert faults == {(f"#/session/blocks/0/slots/{slot}/sets/0{tail}", code) for slot in (0, 1)}


def test_an_unknown_exercise_is_told_with_near_names(cast: Cast) -> None:
    session = pairing()
    session["blocks"][0]["slots"][0]["exercise"] = "bench-pres"
    answer = cast.api(cast.coach).post(PATH, {"session": session}, format="json")
    (fault,) = answer.json()["errors"]
    assert (fault["pointer"], fault["code"]) == ("#/session/blocks/0/slots/0/exercise", "unknown_exercise")
    assert "bench-press" in fault["detail"]


def test_an_unknown_field_and_a_missing_session_are_told_at_once(cast: Cast) -> None:
    answer = cast.api(cast.coach).post(PATH, {"minuts": 45}, format="json")
    assert {(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]} == {
        ("#/minuts", "unknown_field"),
        ("#/session", "required"),
    }


def test_someone_elses_client_is_unknown(cast: Cast, neighbour: Cast) -> None:
    for client in (cast.carl, neighbour.anna):
        answer = cast.api(cast.coach).post(PATH, {"session": pairing(), "client": str(client.id)}, format="json")
        assert (answer.status_code, answer.json()["code"]) == (400, "unknown_object")


def test_clients_and_keys_do_not_analyse(cast: Cast) -> None:
    for api in (cast.api(cast.client_member), cast.key("plans:read")):
        assert api.post(PATH, {"session": pairing()}, format="json").status_code == 403
