"""Forty clients with different garages: what does not fit, what is proposed, and what is accepted in one call."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.models import PlannedSession
from tests.coaching.queries import statements_of
from tests.programs.documents import content, day, published, squat_slot
from tests.scenario import NOON, Cast

ASSIGNMENTS = "/api/v1/assignments"
SUBSTITUTIONS = "/api/v1/assignments/substitutions"
SUBSTITUTES = "/api/v1/exercises/{}/substitutes"
DUMBBELLS = ["dumbbells", "adjustable_bench"]


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def equip(client: Client, *things: str, **more: Any) -> None:
    Client.objects.filter(id=client.id).update(equipment=list(things), **more)


def assign(cast: Cast, *clients: Any, document: dict[str, Any] | None = None) -> dict[str, Any]:
    with business_scope(cast.business_id):
        version = published(document).id
    request = {
        "version": str(version),
        "calendar": "fixed_days",
        "start_date": "2031-03-10",
        "weekdays": [0, 2, 4],
        "clients": [{"client": str(client)} for client in clients],
    }
    answer = cast.api(cast.coach).post(ASSIGNMENTS, request, format="json")
    assert answer.status_code == 201, answer.content
    return {result["client"]: result for result in answer.json()["results"]}


def accept(cast: Cast, *entries: tuple[str, str, str | None]) -> dict[str, Any]:
    wanted = [{"assignment": one, "exercise": exercise, "substitute": other} for one, exercise, other in entries]
    answer = cast.api(cast.coach).post(SUBSTITUTIONS, {"substitutions": wanted}, format="json")
    assert answer.status_code == 200, answer.content
    taken: dict[str, Any] = answer.json()
    return taken


def assigned_without_a_rack(cast: Cast, document: dict[str, Any] | None = None) -> str:
    with business_scope(cast.business_id):
        equip(cast.anna, *DUMBBELLS)
    assignment: str = assign(cast, cast.anna.id, document=document)[str(cast.anna.id)]["assignment"]
    return assignment


def calendar(cast: Cast) -> list[dict[str, Any]]:
    items: list[dict[str, Any]] = cast.api(cast.client_member).get("/api/v1/planned-sessions").json()["items"]
    return items


def first_slot(planned: dict[str, Any]) -> dict[str, Any]:
    slot: dict[str, Any] = planned["prescribed"]["blocks"][0]["slots"][0]
    return slot


def test_what_does_not_fit_comes_with_the_assignment_and_a_substitute(cast: Cast) -> None:
    with business_scope(cast.business_id):
        equip(cast.anna, *DUMBBELLS)
        equip(cast.ben, "barbell", "plates", "rack")
    results = assign(cast, cast.anna.id, cast.ben.id)
    (conflict,) = results[str(cast.anna.id)]["conflicts"]
    assert (conflict["exercise"], conflict["exercise_name"]) == ("back-squat", "Back squat")
    assert conflict["codes"] == ["missing_equipment"]
    assert conflict["reason"] == "Back squat needs barbell, plates, rack, which the client does not have."
    assert (conflict["substitute"], conflict["substitute_name"]) == ("dumbbell-squat", "Dumbbell squat")
    assert "The same movement pattern: squat." in conflict["reasons"]
    assert "Loads of Back squat do not carry over." in conflict["lost"]
    assert results[str(cast.ben.id)]["conflicts"] == []


def test_an_avoided_movement_and_too_complex_a_lift_are_conflicts_too(cast: Cast) -> None:
    with business_scope(cast.business_id):
        equip(cast.anna, avoided_movements=["squat"])
        equip(cast.ben, max_complexity=1)
    results = assign(cast, cast.anna.id, cast.ben.id)
    assert [conflict["codes"] for conflict in results[str(cast.anna.id)]["conflicts"]] == [["avoided_movement"]]
    assert [conflict["codes"] for conflict in results[str(cast.ben.id)]["conflicts"]] == [["too_complex"]]


def test_an_accepted_substitute_shows_in_assignment_calendar_and_card(cast: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    answer = accept(cast, (assignment, "back-squat", "dumbbell-squat"))
    assert answer["summary"] == {"accepted": 1, "taken_back": 0, "unchanged": 0, "refused": 0}
    (result,) = answer["results"]
    assert (result["outcome"], result["session_count"], result["warnings"]) == ("accepted", 6, [])

    shown = cast.api(cast.client_member).get(f"{ASSIGNMENTS}/{assignment}").json()
    assert shown["substitutions"] == {"back-squat": "dumbbell-squat"}

    sessions = calendar(cast)
    assert {first_slot(planned)["exercise"] for planned in sessions} == {"dumbbell-squat"}
    slot = first_slot(sessions[0])
    assert (slot["exercise_name"], slot["substituted_for"], slot["load_basis"]) == (
        "Dumbbell squat",
        "back-squat",
        "each_hand",
    )
    work = slot["sets"][1]
    assert (work["count"], work["reps_low"], work["tempo"], work["rpe"]) == (4, 5, "20X1", "8")
    assert work["load_status"] == "by_effort"
    assert work["resolved_from"] == "By effort: 80 kg, written for Back squat, does not carry over to Dumbbell squat."

    path = f"/api/v1/planned-sessions/{sessions[0]['id']}/card"
    exercise = cast.api(cast.client_member).get(path).json()["blocks"][0]["exercises"][0]
    assert (exercise["name"], exercise["instead_of"]) == ("Dumbbell squat", "Back squat")
    page = cast.api(cast.client_member).get(path, headers={"Accept": "text/html"}).content.decode()
    assert "in place of Back squat" in page


def test_what_was_done_or_is_past_keeps_what_was_prescribed(cast: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    with business_scope(cast.business_id):
        done = PlannedSession.objects.order_by("local_date").first()
        assert done is not None
        PlannedSession.objects.filter(id=done.id).update(state="done")
    (result,) = accept(cast, (assignment, "back-squat", "dumbbell-squat"))["results"]
    assert result["session_count"] == 5
    assert [first_slot(planned)["exercise"] for planned in calendar(cast)] == ["back-squat"] + ["dumbbell-squat"] * 5


def test_a_substitute_is_taken_back(cast: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    before = [first_slot(planned) for planned in calendar(cast)]
    accept(cast, (assignment, "back-squat", "dumbbell-squat"))
    again = accept(cast, (assignment, "back-squat", "dumbbell-squat"))["results"][0]
    assert (again["outcome"], again["session_count"]) == ("unchanged", 0)
    assert accept(cast, (assignment, "back-squat", None))["results"][0]["outcome"] == "taken_back"
    assert [first_slot(planned) for planned in calendar(cast)] == before
    assert cast.api(cast.coach).get(f"{ASSIGNMENTS}/{assignment}").json()["substitutions"] == {}


def test_a_percentage_is_taken_of_the_substitutes_own_reference(cast: Cast) -> None:
    percent = content(weeks=1, kind="percent", of="tested", pct="75")
    assignment = assigned_without_a_rack(cast, percent)
    (result,) = accept(cast, (assignment, "back-squat", "dumbbell-squat"))["results"]
    assert [lack["exercise"] for lack in result["needs_reference"]] == ["dumbbell-squat"]
    api = cast.api(cast.coach)
    load = {"exercise": "dumbbell-squat", "kind": "tested", "load_kg": 40, "on_date": "2031-03-01"}
    assert api.post(f"/api/v1/clients/{cast.anna.id}/reference-loads", load, format="json").status_code == 201
    work = first_slot(calendar(cast)[0])["sets"][1]
    assert (work["load_status"], work["load_kg"]) == ("resolved", "30")


def test_a_new_reference_load_leaves_the_substitutes_where_they_are(cast: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    accept(cast, (assignment, "back-squat", "dumbbell-squat"))
    load = {"exercise": "back-squat", "kind": "tested", "load_kg": 100, "on_date": "2031-03-01"}
    path = f"/api/v1/clients/{cast.anna.id}/reference-loads"
    assert cast.api(cast.coach).post(path, load, format="json").status_code == 201
    assert {first_slot(planned)["exercise"] for planned in calendar(cast)} == {"dumbbell-squat"}


def test_one_sided_substitutes_make_the_session_longer_and_keep_its_sets(cast: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    before = calendar(cast)[0]
    accept(cast, (assignment, "back-squat", "reverse-lunge"))
    after = calendar(cast)[0]
    assert first_slot(after)["per_side"] is True
    assert after["planned_work_sets"] == before["planned_work_sets"]
    assert after["planned_high_min"] > before["planned_high_min"]


def test_a_substitute_that_does_not_fit_is_taken_with_a_warning_since_the_coach_knows(cast: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    (result,) = accept(cast, (assignment, "back-squat", "front-squat"))["results"]
    assert (result["outcome"], [warning["code"] for warning in result["warnings"]]) == (
        "accepted",
        ["missing_equipment"],
    )


def test_what_can_not_be_taken_says_why_and_the_rest_is_taken(cast: Cast, neighbour: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    results = accept(
        cast,
        (str(uuid4()), "back-squat", "dumbbell-squat"),
        (assignment, "back-squat", "no-such-lift"),
        (assignment, "no-such-lift", "back-squat"),
        (assignment, "bench-press", "push-up"),
        (assignment, "back-squat", "plank"),
        (assignment, "back-squat", "dumbbell-squat"),
        (assignment, "back-squat", "reverse-lunge"),
    )["results"]
    assert [(result["outcome"], result["code"]) for result in results] == [
        ("refused", "unknown_object"),
        ("refused", "unknown_exercise"),
        ("refused", "unknown_exercise"),
        ("refused", "not_prescribed"),
        ("refused", "counted_otherwise"),
        ("accepted", ""),
        ("refused", "named_twice"),
    ]
    assert results[4]["detail"].startswith("Sets of Back squat are counted in reps, of Plank in seconds")
    named = accept(cast, (assignment, "dumbbell-squat", "reverse-lunge"))["results"][0]
    assert named["detail"].endswith("It stands in for back-squat; name that.")


def test_another_coachs_and_a_neighbours_assignment_are_unknown(cast: Cast, neighbour: Cast) -> None:
    theirs = assigned_without_a_rack(neighbour)
    (stranger,) = accept(cast, (theirs, "back-squat", "dumbbell-squat"))["results"]
    assert (stranger["outcome"], stranger["code"]) == ("refused", "unknown_object")
    own = assigned_without_a_rack(cast)
    wanted = {"substitutions": [{"assignment": own, "exercise": "back-squat", "substitute": "dumbbell-squat"}]}
    answer = cast.api(cast.other_coach).post(SUBSTITUTIONS, wanted, format="json")
    assert answer.json()["results"][0]["code"] == "unknown_object"
    assert cast.api(cast.viewer).post(SUBSTITUTIONS, wanted, format="json").status_code == 403
    assert cast.api(cast.client_member).post(SUBSTITUTIONS, wanted, format="json").status_code == 403


def test_an_ended_assignment_takes_no_substitutes(cast: Cast) -> None:
    assignment = assigned_without_a_rack(cast)
    ended = cast.api(cast.coach).patch(
        f"{ASSIGNMENTS}/{assignment}", {"state": "ended"}, format="json", HTTP_IF_MATCH="*"
    )
    assert ended.status_code == 200
    assert accept(cast, (assignment, "back-squat", "dumbbell-squat"))["results"][0]["code"] == "assignment_ended"


def test_conflicts_of_forty_garages_come_and_go_in_as_many_statements_as_of_one(cast: Cast) -> None:
    api, counts = cast.api(cast.coach), []
    with business_scope(cast.business_id):
        version = str(published(content(weeks=4)).id)
    garages = [["dumbbells"], ["kettlebell"], ["band"], ["barbell", "plates"], ["landmine", "barbell", "plates"]]
    for size in (1, 40):
        with business_scope(cast.business_id):
            clients = [
                Client.objects.create(
                    name=f"Client {number}",
                    coach=cast.coach,
                    time_zone="UTC",
                    unit="kg",
                    equipment=garages[number % len(garages)],
                )
                for number in range(size)
            ]
        request = {
            "version": version,
            "calendar": "fixed_days",
            "start_date": "2031-03-10",
            "weekdays": [0, 2, 4],
            "clients": [{"client": str(client.id)} for client in clients],
        }
        with CaptureQueriesContext(connection) as assigning:
            results = api.post(ASSIGNMENTS, request, format="json").json()["results"]
        wanted = [
            {
                "assignment": result["assignment"],
                "exercise": conflict["exercise"],
                "substitute": conflict["substitute"],
            }
            for result in results
            for conflict in result["conflicts"]
        ]
        assert len(wanted) == size
        with CaptureQueriesContext(connection) as accepting:
            answer = api.post(SUBSTITUTIONS, {"substitutions": wanted}, format="json").json()
        assert answer["summary"]["accepted"] == size
        assert {result["session_count"] for result in answer["results"]} == {12}
        counts.append((len(assigning), len(accepting)))
    assert counts[0] == counts[1]


def test_substitutes_are_ranked_for_a_client_with_reasons(cast: Cast) -> None:
    with business_scope(cast.business_id):
        equip(cast.anna, *DUMBBELLS)
    answer = cast.api(cast.coach).get(SUBSTITUTES.format("back-squat") + f"?client={cast.anna.id}").json()
    assert [warning["code"] for warning in answer["warnings"]] == ["missing_equipment"]
    first, *others = answer["substitutes"]
    assert (first["exercise"], first["exercise_name"]) == ("dumbbell-squat", "Dumbbell squat")
    assert 0.9 < first["closeness_ratio"] <= 1
    assert first["reasons"]
    assert first["lost"]
    assert len(others) < 20


def test_without_a_client_the_exercise_itself_comes_first(cast: Cast) -> None:
    answer = cast.api(cast.viewer).get(SUBSTITUTES.format("back-squat")).json()
    assert (answer["warnings"], answer["substitutes"][0]["exercise"]) == ([], "back-squat")


def test_movements_and_regions_to_be_spared_are_passed_in(cast: Cast) -> None:
    path = SUBSTITUTES.format("bench-press")
    answer = cast.api(cast.coach).get(f"{path}?avoid=region:shoulder,push-up").json()
    assert [warning["code"] for warning in answer["warnings"]] == ["avoided_movement"]
    assert not {"push-up", "bench-press"} & {found["exercise"] for found in answer["substitutes"]}
    bad = cast.api(cast.coach).get(f"{path}?avoid=region:eyebrow")
    assert (bad.status_code, bad.json()["errors"][0]["pointer"]) == (400, "?avoid")


def test_a_strangers_exercise_and_client_are_not_there(cast: Cast, neighbour: Cast) -> None:
    api = cast.api(cast.coach)
    theirs = neighbour.api(neighbour.owner).get("/api/v1/exercises/back-squat").json()["id"]
    assert api.get(SUBSTITUTES.format(theirs)).status_code == 404
    assert api.get(SUBSTITUTES.format("no-such-lift")).status_code == 404
    for client in (neighbour.anna.id, cast.carl.id, uuid4()):
        answer = api.get(SUBSTITUTES.format("back-squat") + f"?client={client}")
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "?client")
    assert cast.api(cast.client_member).get(SUBSTITUTES.format("back-squat")).status_code == 403


def test_a_ranking_takes_as_many_statements_for_any_exercise(cast: Cast) -> None:
    api = cast.api(cast.coach)
    counts = {statements_of(api, SUBSTITUTES.format(key)) for key in ("back-squat", "tibialis-raise")}
    assert len(counts) == 1


def test_a_session_of_several_exercises_replaces_only_what_was_accepted(cast: Cast) -> None:
    press = squat_slot("B1") | {"exercise": "bench-press"}
    document = {"weeks": [{"week_number": 1, "days": [day(number, squat_slot(), press) for number in (1, 2, 3)]}]}
    assignment = assigned_without_a_rack(cast, document)
    accept(cast, (assignment, "bench-press", "dumbbell-bench-press"))
    blocks = calendar(cast)[0]["prescribed"]["blocks"]
    assert [block["slots"][0]["exercise"] for block in blocks] == ["back-squat", "dumbbell-bench-press"]
    assert blocks[0]["slots"][0]["sets"][1]["load_kg"] == "80"
