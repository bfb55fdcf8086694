"""Changing what one client's one session prescribes."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
import time_machine

from coaching.measures.load import Load
from coaching.tenancy.scope import business_scope
from programs.actions.reference_loads import record_reference_load
from programs.models import Assignment, PlannedSession
from tests.programs.documents import acting, assign, content, published, sessions
from tests.scenario import NOON, Cast

PATH = "/api/v1/planned-sessions"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def rows(cast: Cast) -> list[PlannedSession]:
    with business_scope(cast.business_id):
        assign(cast.head, published(), cast.anna.id, cast.ben.id, cast.carl.id)
        return sessions(cast.anna.id)


def change(api: Any, row: PlannedSession, slots: Any, **more: Any) -> Any:
    return api.patch(f"{PATH}/{row.id}", {"prescribed": slots, **more}, format="json", HTTP_IF_MATCH="*")


def slot_of(answer: Any) -> Any:
    return answer.json()["prescribed"]["blocks"][0]["slots"][0]


def test_a_coach_changes_one_session_and_no_other(cast: Cast, rows: list[PlannedSession]) -> None:
    sets = [{"count": 3, "reps_low": 3, "load": {"kind": "absolute", "load_kg": 92.5}}]
    answer = change(cast.api(cast.coach), rows[1], [{"slot_key": "A1", "sets": sets, "notes": "Belt on."}])
    assert answer.status_code == 200, answer.content
    shown = answer.json()
    assert (shown["planned_work_sets"], shown["changed_by"]) == (3, str(cast.coach.id))
    assert shown["changed_at"] == "2031-03-05T12:00:00+00:00"
    assert shown["slot_classes"] == {"A1": ["unspecified"] * 3}
    assert shown["planned_high_min"] < float(rows[1].planned_high_min)
    slot = slot_of(answer)
    assert (slot["sets"][0]["load_kg"], slot["notes"], slot["rest_s"]) == ("92.5", "Belt on.", 180)
    with business_scope(cast.business_id):
        assert [row.changes is None for row in sessions(cast.anna.id)] == [True, False, True, True, True, True]
        assert all(row.changes is None for row in sessions(cast.ben.id))
        assert rows[1].version.content == published().content


def test_another_exercise_goes_by_effort_where_the_load_was_for_the_old_one(
    cast: Cast, rows: list[PlannedSession]
) -> None:
    slot = slot_of(change(cast.api(cast.coach), rows[0], [{"slot_key": "A1", "exercise": "front-squat"}]))
    assert (slot["exercise"], slot["substituted_for"]) == ("front-squat", "back-squat")
    work = slot["sets"][1]
    assert (work["load_status"], work["load_kg"], work["rpe"]) == ("by_effort", None, "8")
    assert "written for Back squat" in work["resolved_from"]


def test_changes_add_up_and_a_slot_key_alone_takes_its_change_back(cast: Cast, rows: list[PlannedSession]) -> None:
    api = cast.api(cast.coach)
    change(api, rows[0], [{"slot_key": "A1", "rest_s": 75}])
    both = change(api, rows[0], [{"slot_key": "A1", "notes": "Slow."}])
    assert both.json()["changes"] == {"slots": {"A1": {"rest_s": 75, "notes": "Slow."}}}
    back = change(api, rows[0], [{"slot_key": "A1"}])
    assert (back.json()["changes"], back.json()["changed_by"], slot_of(back)["rest_s"]) == (None, None, 180)


def test_null_takes_everything_back(cast: Cast, rows: list[PlannedSession]) -> None:
    api = cast.api(cast.coach)
    change(api, rows[0], [{"slot_key": "A1", "exercise": "front-squat"}])
    back = change(api, rows[0], None)
    assert (slot_of(back)["exercise"], back.json()["changes"]) == ("back-squat", None)
    assert slot_of(back)["sets"][1]["load_kg"] == "80"


def test_a_new_reference_load_leaves_changes_and_substitutes_in_place(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(kind="percent", of="tested", pct="75")), cast.anna.id)
        Assignment.objects.update(substitutions={"back-squat": "front-squat"})
        row = sessions(cast.anna.id)[0]
    change(cast.api(cast.coach), row, [{"slot_key": "A1", "rest_s": 75}])
    with business_scope(cast.business_id):
        record_reference_load(
            actor=acting(cast.coach),
            client_id=cast.anna.id,
            exercise="front-squat",
            kind="tested",
            load=Load(Decimal(100), "kg"),
            on_date=NOON.date(),
            now=NOON,
        )
        first, second = (found.prescribed["blocks"][0]["slots"][0] for found in sessions(cast.anna.id)[:2])
    assert (first["exercise"], first["rest_s"], first["sets"][1]["load_kg"]) == ("front-squat", 75, "75")
    assert (second["exercise"], second["rest_s"], second["sets"][1]["load_kg"]) == ("front-squat", 180, "75")


@pytest.mark.parametrize(
    ("slots", "pointer"),
    [
        ([], "#/prescribed"),
        ([{"slot_key": "Z9", "rest_s": 60}], "#/prescribed/0/slot_key"),
        ([{"slot_key": "A1", "exercise": "back-sqat"}], "#/prescribed/0/exercise"),
        ([{"slot_key": "A1", "sets": []}], "#/prescribed/0/sets"),
        ([{"slot_key": "A1", "sets": [{"count": 3}]}], "#/prescribed/0/sets/0"),
        ([{"slot_key": "A1", "sets": [{"reps_low": 5, "tempo": "4Y"}]}], "#/prescribed/0/sets/0/tempo"),
        ([{"slot_key": "A1", "sets": "3x5"}], "#/prescribed/0/sets"),
        ([{"slot_key": "A1", "rest": 60}], "#/prescribed/0/rest"),
        ([{"rest_s": 60}], "#/prescribed/0/slot_key"),
        ([{"slot_key": "A1", "rest_s": -5}], "#/prescribed/0/rest_s"),
    ],
)
def test_a_change_that_nobody_could_follow_is_refused_at_its_place(
    cast: Cast, rows: list[PlannedSession], slots: Any, pointer: str
) -> None:
    answer = change(cast.api(cast.coach), rows[0], slots)
    assert answer.status_code == 400, answer.content
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}
    with business_scope(cast.business_id):
        assert PlannedSession.objects.get(id=rows[0].id).row_version == 1


def test_content_and_day_are_changed_in_calls_of_their_own(cast: Cast, rows: list[PlannedSession]) -> None:
    answer = change(cast.api(cast.coach), rows[0], [{"slot_key": "A1", "rest_s": 75}], local_date="2031-03-11")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "#/prescribed")


def test_what_was_done_or_missed_is_not_changed(cast: Cast, rows: list[PlannedSession]) -> None:
    for state, code in (("done", "session_performed"), ("missed", "session_missed"), ("paused", "session_paused")):
        with business_scope(cast.business_id):
            PlannedSession.objects.filter(id=rows[0].id).update(state=state)
        answer = change(cast.api(cast.coach), rows[0], [{"slot_key": "A1", "rest_s": 75}])
        assert (answer.status_code, answer.json()["code"]) == (409, code)


def test_only_the_clients_coach_changes_it(cast: Cast, neighbour: Cast, rows: list[PlannedSession]) -> None:
    slots = [{"slot_key": "A1", "rest_s": 75}]
    client = change(cast.api(cast.client_member), rows[0], slots)
    assert (client.status_code, client.json()["code"]) == (409, "coach_only")
    assert change(cast.api(cast.viewer), rows[0], slots).status_code == 403
    for api in (cast.api(cast.other_coach), neighbour.api(neighbour.owner)):
        assert change(api, rows[0], slots).status_code == 404
    stale = cast.api(cast.coach).patch(
        f"{PATH}/{rows[0].id}", {"prescribed": slots}, format="json", HTTP_IF_MATCH='"v7"'
    )
    assert stale.status_code == 412
