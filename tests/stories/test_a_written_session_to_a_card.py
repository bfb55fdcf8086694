"""A coach's evening: a session pasted with two mistakes becomes four weeks for thirty-six garages, and a card."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from tests.scenario import NOON, Cast

WRITTEN = """\
A1. Bench press  4 x 5-6 @ 41X1, RPE 8, rest 90s
A2. Pull-up      4 x 5   @ 31X2, RPE 8, rest 90s
B1. Split squat  3 x 10/side @ 3010, 2 x 20 kg, rest 60s
B2. Plank        3 x 40s, rest 60s
"""
WITH_MISTAKES = WRITTEN.replace("41X1", "41X").replace("Split squat", "Splt sqat")
GARAGES = (
    ["barbell", "plates", "rack", "flat_bench", "pull_up_bar", "dumbbells"],
    ["dumbbells", "adjustable_bench"],
    ["kettlebells"],
)


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


class Coach:
    """Calls the API as the coach, and fails on a refusal."""

    def __init__(self, cast: Cast) -> None:
        self.api = cast.api(cast.coach)

    def post(self, path: str, **body: Any) -> dict[str, Any]:
        answer = self.api.post(f"/api/v1{path}", body, format="json")
        assert answer.status_code in {200, 201}, answer.content
        made: dict[str, Any] = answer.json()
        return made

    def get(self, path: str) -> dict[str, Any]:
        answer = self.api.get(f"/api/v1{path}")
        assert answer.status_code == 200, answer.content
        made: dict[str, Any] = answer.json()
        return made


@pytest.fixture
def coach(cast: Cast) -> Coach:
    return Coach(cast)


def test_both_mistakes_come_at_their_line_and_column_and_the_rest_is_read(coach: Coach) -> None:
    answer = coach.post("/prescriptions/parse", text=WITH_MISTAKES)
    found = [(fault["line"], fault["column"], fault["code"]) for fault in answer["faults"]]
    assert found == [(1, 26, "tempo"), (3, 5, "doubtful_exercise")]
    assert answer["faults"][1]["candidates"][0]["key"] == "split-squat"
    slots = [slot["slot_key"] for block in answer["session"]["blocks"] for slot in block["slots"]]
    assert slots == ["A1", "A2", "B1", "B2"]


def test_what_is_written_again_is_what_was_read(coach: Coach) -> None:
    first = coach.post("/prescriptions/parse", text=WRITTEN)
    again = coach.post("/prescriptions/parse", text=first["written"])
    assert first["faults"] == again["faults"] == []
    assert again["session"] == first["session"]


def test_the_analysis_says_what_it_does_to_a_person_and_a_clock(coach: Coach) -> None:
    session = coach.post("/prescriptions/parse", text=WRITTEN)["session"]
    analysis = coach.post("/prescriptions/analyse", session=session, minutes=45)
    # By hand: pair A is 4 rounds of 5 x 7 s (to 6 x 7 s) + 90 s and 5 x 7 s + 90 s, without the last rest:
    # 4 x 250 - 90 = 910 s (to 938 s); and 3 ramp sets of 75 s before the first heavy press.
    assert (analysis["timeline"]["blocks"][0]["low_s"], analysis["timeline"]["blocks"][0]["high_s"]) == (
        910 + 225,
        938 + 225,
    )
    assert not analysis["has_errors"]
    assert analysis["timeline"]["high_min"] < 45
    assert analysis["timeline"]["minutes_saved"] > 15


def test_pairings_for_45_minutes_fit_and_give_their_reasons(coach: Coach) -> None:
    session = coach.post("/prescriptions/parse", text=WRITTEN)["session"]
    exercises = [
        {"slot_key": slot["slot_key"], "exercise": slot["exercise"], "goal": "strength", "rest_s": slot["rest_s"],
         "per_side": slot["per_side"], "sets": slot["sets"]}
        for block in session["blocks"]
        for slot in block["slots"]
    ]  # fmt: skip
    suggested = coach.post("/prescriptions/pairings", exercises=exercises, minutes=45)["pairings"]
    assert suggested[0]["fits"]
    assert all(block["reasons"] for block in suggested[0]["blocks"])


def _four_weeks(coach: Coach) -> str:
    session = coach.post("/prescriptions/parse", text=WRITTEN)["session"]
    day = {**session, "day_number": 1, "template_key": "press-and-pull", "title": "Press and pull"}
    content = {
        "weeks": [{"week_number": 1, "days": [day]}],
        "progression": [{"kind": "reps_step", "step_reps": 1}, {"kind": "deload", "every_weeks": 4}],
    }
    program = coach.post("/programs", name="Evening work", variants=[{"name": "One day"}])
    draft = coach.post(f"/programs/{program['id']}/versions", variant=program["variants"][0]["id"], content=content)
    preview = coach.post(f"/program-versions/{draft['id']}/preview", weeks=4)
    assert [week["deload"] for week in preview["content"]["weeks"]] == [False, False, False, True]
    coach.post(f"/program-versions/{draft['id']}/publish", weeks=4)
    return str(draft["id"])


def test_four_weeks_with_a_deload_go_to_thirty_six_garages_and_end_as_a_card(cast: Cast, coach: Coach) -> None:
    with business_scope(cast.business_id):
        clients = Client.objects.bulk_create(
            Client(
                name=f"Client {number:02}",
                coach=cast.coach,
                time_zone="Europe/Paris",
                unit="kg" if number % 2 else "lb",
                equipment=GARAGES[number % 3],
            )
            for number in range(36)
        )
    version = _four_weeks(coach)
    assigned = coach.post(
        "/assignments",
        version=version,
        calendar="fixed_days",
        start_date="2031-03-10",
        weekdays=[0],
        clients=[{"client": str(client.id)} for client in clients],
    )["results"]
    assert {(result["outcome"], result["session_count"]) for result in assigned} == {("assigned", 4)}
    with_conflicts = [result for result in assigned if result["conflicts"]]
    assert len(with_conflicts) >= 12
    proposed = [
        {"assignment": result["assignment"], "exercise": conflict["exercise"],
         "substitute": conflict["substitute"]}
        for result in with_conflicts
        for conflict in result["conflicts"]
        if conflict["substitute"]
    ]  # fmt: skip
    accepted = coach.post("/assignments/substitutions", substitutions=proposed)["results"]
    assert {result["outcome"] for result in accepted} == {"accepted"}

    client = with_conflicts[0]["client"]
    planned = coach.get(f"/planned-sessions?client={client}")["items"][0]
    used = {slot["exercise"] for block in planned["prescribed"]["blocks"] for slot in block["slots"]}
    mine = [one for one in proposed if one["assignment"] == with_conflicts[0]["assignment"]]
    assert mine
    assert {one["substitute"] for one in mine} <= used
    assert not {one["exercise"] for one in mine} & used
    card = coach.api.get(f"/api/v1/planned-sessions/{planned['id']}/card", HTTP_ACCEPT="application/pdf")
    assert card.status_code == 200
    assert card.content.startswith(b"%PDF-")
