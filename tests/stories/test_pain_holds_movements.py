"""A pain reported at a lift holds it: in substitutes, conflicts, calendar and card, until the coach resolves it."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching import registry
from coaching.actions.due_work import run_due_jobs
from coaching.models import Client
from coaching.tenancy.scope import business_scope
from logs.actions.flags import evaluate_flags
from logs.models import Flag
from programs.actions.movement_holds import WantedHold, set_holds
from programs.models import MovementHold
from tests.programs.documents import content, day, published, squat_slot
from tests.scenario import NOON, Cast

SUBSTITUTES = "/api/v1/exercises/{}/substitutes"
PRESS = squat_slot("B1") | {"exercise": "bench-press"}
WORDS = "Bench press loads the left shoulder, held for pain since 2031-03-05: it is left out until a coach releases it."
HORIZONTAL_PUSHES = {"bench-press", "push-up", "dumbbell-bench-press"}


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def report(cast: Cast, score: int, *, external_id: str = "c-1", symptoms: tuple[str, ...] = ()) -> None:
    """Anna reports a pain in the left shoulder at the bench press, and the rules are asked."""
    pain = {"site": "shoulder", "side": "left", "score": score, "when": "during", "onset": "known"}
    check_in = {
        "external_id": external_id,
        "client": str(cast.anna.id),
        "local_date": "2031-03-05",
        "symptoms": list(symptoms),
        "pains": [pain | {"exercise": "bench-press"}] if score else [],
    }
    answer = cast.key("logs:write").post("/api/v1/log-batches", {"check_ins": [check_in]}, format="json")
    assert answer.json()["summary"]["refused"] == 0, answer.content
    run_due_jobs(jobs=registry.dispatch_jobs, now=NOON, seconds=10)


def resolve(cast: Cast, kind: str = "pain") -> None:
    api = cast.api(cast.coach)
    (flag,) = api.get(f"/api/v1/flags?kind={kind}&state=open").json()["items"]
    answer = api.post(f"/api/v1/flags/{flag['id']}/resolve", {"resolution": "Assessed."}, format="json")
    assert answer.status_code == 200, answer.content


def substitutes(cast: Cast, exercise: str = "bench-press") -> dict[str, Any]:
    path = f"{SUBSTITUTES.format(exercise)}?client={cast.anna.id}"
    found: dict[str, Any] = cast.api(cast.coach).get(path).json()
    return found


def offered(found: dict[str, Any]) -> set[str]:
    return {one["exercise"] for one in found["substitutes"]}


def codes(found: dict[str, Any]) -> list[str]:
    return [warning["code"] for warning in found["warnings"]]


def assigned(cast: Cast, *clients: UUID) -> list[dict[str, Any]]:
    document = {"weeks": [{"week_number": 1, "days": [day(number, squat_slot(), PRESS) for number in (1, 2, 3)]}]}
    with business_scope(cast.business_id):
        version = published(document).id
    request = {
        "version": str(version),
        "calendar": "fixed_days",
        "start_date": "2031-03-10",
        "weekdays": [0, 2, 4],
        "clients": [{"client": str(client)} for client in clients],
    }
    answer = cast.api(cast.coach).post("/api/v1/assignments", request, format="json")
    assert answer.status_code == 201, answer.content
    results: list[dict[str, Any]] = answer.json()["results"]
    return results


def standing(cast: Cast) -> set[tuple[str, str]]:
    with business_scope(cast.business_id):
        return set(MovementHold.objects.filter(released_at__isnull=True).values_list("scope", "action"))


def test_a_pain_bars_the_movement_from_the_substitutes_until_the_flag_is_resolved(cast: Cast) -> None:
    assert offered(substitutes(cast)) >= HORIZONTAL_PUSHES

    report(cast, 6)
    assert standing(cast) == {("region:shoulder:left", "stop_movement"), ("exercise:bench-press", "stop_movement")}
    found = substitutes(cast)
    assert [(warning["code"], warning["detail"]) for warning in found["warnings"]] == [("movement_held", WORDS)]
    assert not HORIZONTAL_PUSHES & offered(found)
    assert "back-squat" in offered(substitutes(cast, "back-squat"))

    resolve(cast)
    assert standing(cast) == set()
    found = substitutes(cast)
    assert codes(found) == []
    assert offered(found) >= HORIZONTAL_PUSHES


def test_a_program_given_to_somebody_in_pain_has_the_lift_as_a_conflict_and_the_card_says_it(cast: Cast) -> None:
    report(cast, 7)
    anna, ben = assigned(cast, cast.anna.id, cast.ben.id)
    assert [(one["exercise"], one["codes"], one["reason"]) for one in anna["conflicts"]] == [
        ("bench-press", ["movement_held"], WORDS)
    ]
    assert anna["conflicts"][0]["substitute"] not in HORIZONTAL_PUSHES
    assert (ben["conflicts"], ben["warnings"]) == ([], [])

    api = cast.api(cast.client_member)
    planned = api.get("/api/v1/planned-sessions").json()["items"]
    assert {tuple(one["detail"] for one in session["hold_warnings"]) for session in planned} == {(WORDS,)}
    path = f"/api/v1/planned-sessions/{planned[0]['id']}"
    assert [one["exercise"] for one in api.get(path).json()["hold_warnings"]] == ["bench-press"]
    assert api.get(f"{path}/card").json()["held"] == [WORDS]
    assert WORDS in api.get(f"{path}/card", headers={"Accept": "text/html"}).content.decode()
    assert api.get(f"{path}/card", headers={"Accept": "application/pdf"}).content.startswith(b"%PDF")

    resolve(cast)
    assert api.get(path).json()["hold_warnings"] == []
    assert api.get(f"{path}/card").json()["held"] == []


def test_a_milder_pain_bars_nothing_and_warns_against_more(cast: Cast) -> None:
    report(cast, 4)
    found = substitutes(cast)
    assert codes(found) == ["no_increase"]
    assert found["substitutes"][0]["exercise"] == "bench-press"
    (anna,) = assigned(cast, cast.anna.id)
    assert anna["conflicts"] == []
    assert [warning["code"] for warning in anna["warnings"]] == ["no_increase"]


def test_a_pain_that_gets_worse_turns_the_warning_into_a_bar(cast: Cast) -> None:
    report(cast, 4)
    report(cast, 8, external_id="c-2")
    assert codes(substitutes(cast)) == ["movement_held"]


def test_a_symptom_stops_training_and_so_offers_nothing(cast: Cast) -> None:
    report(cast, 0, symptoms=("chest_pain",))
    found = substitutes(cast)
    assert (codes(found), found["substitutes"]) == (["training_held"], [])
    (anna,) = assigned(cast, cast.anna.id)
    assert [(one["code"], one["exercise"]) for one in anna["warnings"]] == [("training_held", None)]
    assert anna["conflicts"] == []
    resolve(cast, "symptom")
    assert codes(substitutes(cast)) == []


def test_accepting_a_held_exercise_is_taken_with_a_warning_since_the_coach_knows(cast: Cast) -> None:
    report(cast, 6)
    (anna,) = assigned(cast, cast.anna.id)
    wanted = {"assignment": anna["assignment"], "exercise": "bench-press", "substitute": "push-up"}
    answer = cast.api(cast.coach).post("/api/v1/assignments/substitutions", {"substitutions": [wanted]}, format="json")
    (result,) = answer.json()["results"]
    assert (result["outcome"], codes(result)) == ("accepted", ["movement_held"])


def test_asking_the_rules_again_changes_no_hold(cast: Cast) -> None:
    report(cast, 6)
    with business_scope(cast.business_id):
        before = sorted(MovementHold.objects.values_list("id", "scope", "released_at"))
        evaluate_flags(client_ids=[cast.anna.id], now=NOON)
        assert sorted(MovementHold.objects.values_list("id", "scope", "released_at")) == before
        assert {hold.flag_id for hold in MovementHold.objects.all()} == {Flag.objects.get(kind="pain").id}


def test_a_neighbours_holds_are_no_holds_here(cast: Cast, neighbour: Cast) -> None:
    report(neighbour, 9)
    assert codes(substitutes(neighbour)) == ["movement_held"]
    assert (standing(cast), codes(substitutes(cast))) == (set(), [])


def test_forty_held_clients_are_assigned_and_shown_in_as_many_statements_as_one(cast: Cast) -> None:
    api, counts = cast.api(cast.coach), []
    for size in (1, 40):
        with business_scope(cast.business_id):
            version = str(published(content(weeks=1)).id)
            clients = [
                Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg")
                for number in range(size)
            ]
            holds = [
                WantedHold(
                    client_id=client.id,
                    flag_id=client.id,
                    scope="region:knee",
                    action="stop_movement",
                    from_date=NOON.date(),
                )
                for client in clients
            ]
            with CaptureQueriesContext(connection) as holding:
                set_holds(client_ids=[client.id for client in clients], holds=holds, now=NOON)
        request = {
            "version": version,
            "calendar": "fixed_days",
            "start_date": "2031-03-10",
            "weekdays": [0, 2, 4],
            "clients": [{"client": str(client.id)} for client in clients],
        }
        with CaptureQueriesContext(connection) as assigning:
            results = api.post("/api/v1/assignments", request, format="json").json()["results"]
        assert {one["codes"][0] for result in results for one in result["conflicts"]} == {"movement_held"}
        with CaptureQueriesContext(connection) as listing:
            items = api.get("/api/v1/planned-sessions?limit=100").json()["items"]
        assert {one["code"] for item in items for one in item["hold_warnings"]} == {"movement_held"}
        counts.append((len(holding), len(assigning), len(listing)))
    assert counts[0] == counts[1]
