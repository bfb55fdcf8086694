"""What is written when advice is accepted, and what never is."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
import time_machine

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.models import PlannedSession
from tests.scenario import NOON, Cast
from tests.stories.test_load_advice import Clock, Story, document, pain, slot, told, week


@pytest.fixture(autouse=True)
def clock() -> Iterator[Clock]:
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


@pytest.fixture
def story(cast: Cast, clock: Clock) -> Story:
    return Story(cast, clock, document())


def after_gap(story: Story) -> None:
    """Two sessions, and three weeks without any."""
    story.train(week(1), 8, 8, 8)
    story.train(week(2), 8, 8, 8)
    story.on(week(2) + timedelta(days=20))
    story.miss(3, 4)


def test_after_a_gap_fewer_and_easier_sets_are_written_with_the_load(story: Story) -> None:
    after_gap(story)
    result = story.accept(basis=story.advice()["basis"])
    assert (result["outcome"], result["sets"], result["rpe_most"]) == ("accepted", 2, 7)
    line = story.line(5)
    assert (line["count"], line["rpe"], line["load_kg"]) == (2, "7", "70")
    slot_line = story.session(5)["prescribed"]["blocks"][0]["slots"][0]
    assert slot_line["sets"][0]["count"] == 1
    before = slot_line["accepted_load"]["sets_before"][1]
    assert (before["count"], before["rpe"]) == (3, "8")
    assert story.line(6)["count"] == 3
    # What is advised looks through it, so that nothing is cut twice.
    advice = story.advice()
    assert (told(advice), advice["sets"], advice["rpe_most"]) == (("down", "after_gap", 70), 2, 7)
    assert story.accept()["outcome"] == "unchanged"
    # The sets done are measured by what was asked of them, and the way back goes on from there.
    story.train(week(5), 8, 8, load=70, rpe=7)
    advice = story.advice()
    assert (told(advice), advice["inputs"][0]["verdict"]) == (("up", "back_after_gap", 75), "topped")
    assert (advice["sets"], advice["rpe_most"]) == (2, 8.5)
    assert story.next()["gap"]["rule"] == "way_back"


def test_a_coach_may_take_the_load_after_a_gap_alone(story: Story) -> None:
    after_gap(story)
    result = story.accept(sets_and_rpe=False)
    assert (result["outcome"], result["sets"], result["rpe_most"]) == ("accepted", None, None)
    assert (story.line(5)["count"], story.line(5)["rpe"], story.line(5)["load_kg"]) == (3, "8", "70")


def test_a_load_after_a_gap_is_never_written_into_the_rest_of_the_program(story: Story) -> None:
    after_gap(story)
    result = story.accept(apply_to="rest_of_program")
    assert (result["outcome"], result["sessions"]) == ("accepted", 1)
    assert "this session alone" in result["detail"]
    assert (story.line(5)["load_kg"], story.line(6)["load_kg"]) == ("70", "80")


def test_where_a_client_starts_as_new_nothing_is_written_and_that_is_said(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    story.on(week(1) + timedelta(days=100))
    with business_scope(story.cast.business_id):
        PlannedSession.objects.filter(assignment_id=story.assignment, week_number=8).update(
            local_date=week(16), window_start=week(16), window_end=week(16)
        )
    story.miss(2, 3, 4, 5, 6, 7)
    result = story.accept()
    assert (result["outcome"], result["code"]) == ("refused", "nothing_advised")
    assert result["detail"].startswith("No load is advised, so nothing is written, sets and RPE neither: ")
    own = story.accept(load_kg=70)
    assert (own["outcome"], own["sets"], own["rpe_most"]) == ("accepted", 1, 6)
    assert "is over what is advised after a gap" in own["cautions"][0]


def test_a_silly_load_is_written_with_a_caution_and_one_below_nothing_is_not(story: Story) -> None:
    story.train(week(1), 8, 8, 8, load=20)
    result = story.accept(load_kg=500)
    assert result["outcome"] == "accepted"
    assert result["cautions"] == ["500 kg is more than a tenth over the 20 kg last lifted: see that it is meant."]
    assert story.accept(load_kg=22)["cautions"] == []
    below = story.accept(load_kg=-20)
    assert (below["outcome"], below["code"]) == ("refused", "below_nothing")


def test_a_slot_named_twice_in_a_call_is_accepted_once(story: Story) -> None:
    story.train(week(1), 7, 7, 7)
    session = story.next()["session"]["id"]
    items = [{"planned_session": session, "slot": "A1", "load_kg": load} for load in (81, 85)]
    api = story.cast.api(story.cast.coach)
    answer = api.post("/api/v1/load-advice/accept", {"items": items}, format="json").json()
    assert [one["code"] for one in answer["results"]] == ["", "named_twice"]
    assert story.line(2)["load_kg"] == "81"


def test_advice_is_accepted_for_the_next_session_alone_so_that_no_gap_is_made_up(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    later = story.session(6)["id"]
    api = story.cast.api(story.cast.coach)

    def accept(**item: Any) -> dict[str, Any]:
        body = {"items": [{"planned_session": later, "slot": "A1", **item}]}
        found: dict[str, Any] = api.post("/api/v1/load-advice/accept", body, format="json").json()["results"][0]
        return found

    assert (accept()["outcome"], accept()["code"]) == ("refused", "not_next")
    own = accept(load_kg=82.5)
    assert (own["outcome"], own["sets"], own["cautions"]) == ("accepted", None, [])
    assert (story.line(6)["load_kg"], story.line(6)["count"]) == ("82.5", 3)


def test_no_load_held_for_pain_is_written_into_the_rest_of_the_program(story: Story) -> None:
    story.train(week(1), 8, 8, 8, load=70)
    story.check_in(week(1), pains=pain(4))
    result = story.accept(apply_to="rest_of_program")
    assert (result["outcome"], result["sessions"]) == ("accepted", 1)
    assert (story.line(2)["load_kg"], story.line(3)["load_kg"]) == ("70", "80")


@pytest.mark.parametrize(
    "care", [{"birth_date": date(2015, 1, 1)}, {"care_groups": ["pregnant"]}, {"care_groups": ["over_65"]}]
)
def test_no_test_is_suggested_to_whom_care_spares_it(cast: Cast, clock: Clock, care: dict[str, Any]) -> None:
    api = cast.api(cast.coach)
    percent = {"kind": "percent", "of": "training_max", "pct": "75"}
    story = Story(cast, clock, document(slot(reps_low=5, reps_high=None, load=percent)))
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(**care)
    missing = story.advice()
    assert missing["reason"] == "needs_reference"
    assert missing["suggestion"].startswith("Prescribe by effort (RPE). No maximum test is suggested ")
    kept = {"exercise": "back-squat", "kind": "training_max", "load_kg": 100, "on_date": "2031-03-01"}
    assert api.post(f"/api/v1/clients/{cast.anna.id}/reference-loads", kept, format="json").status_code == 201
    for number in (1, 2):
        story.train(week(number), 5, 5, 5, load=75, rpe=6)
    advice = story.advice()
    assert advice["reason"] == "percent_too_light"
    assert "est again" not in advice["suggestion"]


def test_a_percentage_that_is_accepted_after_a_gap_keeps_its_reference_beside_it(cast: Cast, clock: Clock) -> None:
    api = cast.api(cast.coach)
    kept = {"exercise": "back-squat", "kind": "training_max", "load_kg": 100, "on_date": "2031-03-01"}
    assert api.post(f"/api/v1/clients/{cast.anna.id}/reference-loads", kept, format="json").status_code == 201
    percent = {"kind": "percent", "of": "training_max", "pct": "75"}
    story = Story(cast, clock, document(slot(reps_low=5, reps_high=None, load=percent)))
    story.train(week(1), 5, 5, 5, load=75)
    story.train(week(2), 5, 5, 5, load=75)
    story.on(week(2) + timedelta(days=20))
    story.miss(3, 4)
    before = story.advice()
    assert told(before) == ("down", "after_gap", 67.5)
    assert story.accept(basis=before["basis"])["outcome"] == "accepted"
    assert (story.line(5)["load_kg"], story.line(5)["instead_of"]["load_kg"]) == ("67.5", "75")
    assert told(story.advice()) == ("down", "after_gap", 67.5)
    assert story.accept(basis=before["basis"])["outcome"] == "unchanged"


def test_a_load_that_no_plan_may_have_is_refused(story: Story) -> None:
    story.train(week(1), 8, 8, 8)
    result = story.accept(load_kg=1000.5)
    assert (result["outcome"], result["code"]) == ("refused", "over_the_most")
    assert "1000 kg" in result["detail"]
