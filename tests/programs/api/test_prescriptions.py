"""`/prescriptions/analyse`."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

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


WRITTEN = """Upper A
A1. Bench press  4 x 6-8 @ 41X1, RPE 8, rest 20s
A2. Pull-up      4 x 5   @ 31X2, rest 20s
B.  Back squat   5 x 3 @ RPE 9, rest 60s
cap 20 min"""
CONDITIONING = "A. 12 min max rounds: 12 sit-up, 10 ring row, 8 push-up"


def test_a_written_session_is_analysed_and_findings_name_their_lines(cast: Cast) -> None:
    answer = cast.api(cast.viewer).post(PATH, {"text": WRITTEN}, format="json")
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert body["written"]["session"]["blocks"][0]["slots"][1]["exercise"] == "pull-up"
    lines = {(finding["code"], finding["pointer"]): finding["line"] for finding in body["findings"]}
    assert lines["short_rest", "#/session/blocks/0/slots/0/rest_s"] == 2
    assert lines["short_rest", "#/session/blocks/1/slots/0/rest_s"] == 4
    assert lines["over_cap", "#/session/cap_min"] == 5


def test_a_document_has_no_lines(cast: Cast) -> None:
    body = cast.api(cast.viewer).post(PATH, {"session": pairing(), "minutes": 5}, format="json").json()
    assert body["written"] is None
    assert {finding["line"] for finding in body["findings"]} == {None}


def test_faults_of_a_text_are_told_at_line_and_column_beside_the_analysis_of_the_rest(cast: Cast) -> None:
    text = WRITTEN.replace("@ 31X2", "@ 3X12").replace("Back squat", "Back squash xyz")
    answer = cast.api(cast.coach).post(PATH, {"text": text}, format="json")
    assert answer.status_code == 400
    assert answer.headers["Content-Type"] == "application/problem+json"
    problem = answer.json()
    assert problem["code"] == "unreadable_text"
    tempo, name = problem["errors"]
    assert (tempo["pointer"], tempo["detail"].split(":")[0]) == ("#/text", "Line 3, column 26")
    assert name["detail"].startswith("Line 4, column 5: ")
    assert [fault["line"] for fault in problem["written"]["faults"]] == [3, 4]
    rest = problem["analysis"]
    assert [slot["slot_key"] for slot in rest["slots"]] == ["A1", "A2", "B"]
    unknown = next(finding for finding in rest["findings"] if finding["code"] == "unknown_exercise")
    assert (unknown["line"], unknown["pointer"]) == (4, "#/session/blocks/1/slots/0/exercise")


def test_a_text_of_which_nothing_can_be_read_has_no_analysis(cast: Cast) -> None:
    problem = cast.api(cast.coach).post(PATH, {"text": "12 x"}, format="json").json()
    assert (problem["code"], problem["analysis"]) == ("unreadable_text", None)
    assert problem["errors"]


@pytest.mark.parametrize(
    ("body", "pointer", "code"),
    [
        ({}, "#/session", "required"),
        ({"session": {"blocks": []}, "text": WRITTEN}, "#/text", "one_of"),
        ({"text": ""}, "#/text", "blank"),
        ({"text": WRITTEN, "resting_bpm": 55}, "#/resting_bpm", "no_client"),
        ({"text": WRITTEN, "place": "moon"}, "#/place", "invalid_choice"),
    ],
)
def test_exactly_one_of_session_and_text_is_taken(cast: Cast, body: dict[str, Any], pointer: str, code: str) -> None:
    answer = cast.api(cast.coach).post(PATH, body, format="json")
    assert answer.status_code == 400
    assert [(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]] == [(pointer, code)]


def test_a_home_changes_station_sooner(cast: Cast) -> None:
    text = WRITTEN.replace("rest 20s", "rest 5s")
    api = cast.api(cast.coach)
    gym, home = (
        api.post(PATH, {"text": text, "place": place}, format="json").json()["timeline"]["low_s"]
        for place in ("gym", "home")
    )
    # Seven changes inside the pair: 30 - 5 s against 15 - 5 s each.
    assert gym - home == 7 * 15


def heart_rate(cast: Cast, **more: Any) -> Any:
    body = {"text": CONDITIONING, "client": str(cast.anna.id), **more}
    answer = cast.api(cast.coach).post(PATH, body, format="json")
    assert answer.status_code == 200, answer.content
    return answer.json()["heart_rate"]


def test_conditioning_for_a_client_has_heart_rate_targets_from_the_measured_maximum(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(max_hr_bpm=180, care_groups=[])
    shown = heart_rate(cast, resting_bpm=60)
    assert (shown["max_bpm"], shown["max_from"], shown["error_bpm"]) == (180, "measured", 0)
    # 60 + 60 % of (180 - 60) and 60 + 90 % of it.
    assert {"low_bpm": 132, "high_bpm": 168}.items() <= shown["bands"][2].items()
    assert (shown["reason"], shown["instead"]) == (None, None)


def test_the_maximum_is_predicted_from_the_age_and_says_its_error(cast: Cast) -> None:
    born = timezone.now().date().replace(day=1) - timedelta(days=int(40.2 * 365.25))
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(birth_date=born, max_hr_bpm=None, care_groups=[])
    shown = heart_rate(cast, resting_bpm=60)
    # 208 - 0.7 x 40.
    assert (shown["max_bpm"], shown["max_from"], shown["error_bpm"]) == (180, "predicted", 10)


@pytest.mark.parametrize("group", ["heart_rate_medicine", "pregnant", "postpartum"])
def test_no_heart_rate_is_given_where_it_would_be_no_guide_and_rpe_is_said_instead(cast: Cast, group: str) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(max_hr_bpm=180, care_groups=[group])
    shown = heart_rate(cast, resting_bpm=60)
    assert (shown["bands"], shown["max_bpm"]) == ([], None)
    assert "RPE" in shown["instead"]


def test_without_a_resting_heart_rate_there_are_no_targets_and_the_reason_is_said(cast: Cast) -> None:
    shown = heart_rate(cast)
    assert shown["bands"] == []
    assert "resting" in shown["reason"]


def test_a_resting_heart_rate_over_the_maximum_is_refused(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(max_hr_bpm=150, care_groups=[])
    body = {"text": CONDITIONING, "client": str(cast.anna.id), "resting_bpm": 160}
    answer = cast.api(cast.coach).post(PATH, body, format="json")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/resting_bpm")


def test_heart_rates_belong_to_conditioning_and_to_a_client(cast: Cast) -> None:
    api = cast.api(cast.coach)
    lifting = {"text": WRITTEN, "client": str(cast.anna.id), "resting_bpm": 60}
    assert api.post(PATH, lifting, format="json").json()["heart_rate"] is None
    assert api.post(PATH, {"text": CONDITIONING}, format="json").json()["heart_rate"] is None


def test_a_client_in_the_first_months_of_training_is_held_to_shorter_rests(cast: Cast) -> None:
    text = "A. Bench press 4 x 5 @ RPE 8, rest 100s"
    api = cast.api(cast.coach)

    def rests(since: date | None) -> list[Any]:
        with business_scope(cast.business_id):
            Client.objects.filter(id=cast.anna.id).update(training_since=since)
        answer = api.post(PATH, {"text": text, "client": str(cast.anna.id)}, format="json").json()
        return [finding["bound"] for finding in answer["findings"] if finding["code"] == "short_rest"]

    today = timezone.now().date()
    assert rests(today - timedelta(days=90)) == []
    assert rests(today - timedelta(days=400)) == rests(None) == [150]


def bare_numbers(value: Any, name: str = "") -> Iterator[str]:
    """Give the name of every number in an answer."""
    if isinstance(value, dict):
        for key, item in value.items():
            # What is kept by muscle stands under the name of the whole.
            yield from bare_numbers(item, key)
    elif isinstance(value, list):
        for item in value:
            yield from bare_numbers(item, name)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield name


COUNTS = {
    "count", "sets", "set_number", "block_index", "rounds_low", "rounds_high", "direct", "fractional", "total",
    "unknown_effort", "work_sets", "hard_sets", "unknown_effort_sets", "push_sets", "pull_sets",
    "knee_dominant_sets", "hip_dominant_sets", "unknown_sets", "in_reserve", "week_number", "day_number", "line",
    # The unit is all that the name says, or stands in it.
    "tut_s",
    "minutes_saved",
    # Their unit stands in the field `unit` beside them.
    "figure", "bound",
}  # fmt: skip


def test_every_bare_number_has_its_unit_in_its_name_or_beside_it(cast: Cast) -> None:
    text = f"{WRITTEN}\nD. 8 x 40s on / 20s off: 8 burpee"
    body = cast.api(cast.coach).post(PATH, {"text": text}, format="json").json()
    del body["written"]
    units = ("_s", "_min", "_ratio", "_kg", "_pct", "_w")
    assert {name for name in bare_numbers(body) if not name.endswith(units)} <= COUNTS
    group = body["slots"][0]["groups"][0]
    assert group["stimulus"]["heading"] == "coaching heuristic"
    assert group["performed"].startswith("4 s ")
    assert any("heuristic" in caution for caution in body["cautions"])
