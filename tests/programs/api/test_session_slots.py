"""Adding slots to one client's one session and taking slots out of it."""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import orjson
import pytest
import time_machine

from coaching.measures.load import Load
from coaching.models import StaleWeek
from coaching.tenancy.scope import business_scope
from programs.actions.movement_holds import WantedHold, set_holds
from programs.actions.reference_loads import record_reference_load
from programs.models import Assignment, PlannedSession, Version
from tests.programs.api.test_version_moves import move, next_version
from tests.programs.documents import acting, assign, published, sessions, squat_slot
from tests.scenario import NOON, Cast

PATH = "/api/v1/planned-sessions"
FIVE: dict[str, Any] = {"count": 3, "reps_low": 5, "tempo": "20X1", "rpe": 8}
PERCENT: dict[str, Any] = {"count": 2, "reps_low": 5, "load": {"kind": "percent", "of": "tested", "pct": 80}}


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def slot(key: str, exercise: str, **fields: Any) -> dict[str, Any]:
    return {"slot_key": key, "exercise": exercise, "rest_s": 90, "sets": [FIVE], **fields}


def document(*blocks: dict[str, Any], weeks: int = 2) -> dict[str, Any]:
    pair = {"kind": "paired", "label": "B", "slots": [slot("B1", "bench-press"), slot("B2", "pull-up", rest_s=120)]}
    straight = {"kind": "straight", "label": "A", "slots": [squat_slot()]}
    day = {"template_key": "full", "title": "Full", "blocks": list(blocks or (straight, pair))}
    return {
        "weeks": [
            {"week_number": week, "days": [{"day_number": number, **day} for number in (1, 2, 3)]}
            for week in range(1, weeks + 1)
        ]
    }


@pytest.fixture
def version(cast: Cast) -> Version:
    with business_scope(cast.business_id):
        made = published(document())
        assign(cast.head, made, cast.anna.id, cast.ben.id)
        return Version.objects.select_related("variant").get(id=made.id)


@pytest.fixture
def row(cast: Cast, version: Version) -> PlannedSession:
    with business_scope(cast.business_id):
        return sessions(cast.anna.id)[3]


def change(cast: Cast, row: PlannedSession, *slots: Any, api: Any = None) -> Any:
    body = {"prescribed": list(slots) or None}
    return (api or cast.api(cast.coach)).patch(f"{PATH}/{row.id}", body, format="json", HTTP_IF_MATCH="*")


def shown(answer: Any) -> dict[str, Any]:
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def layout(found: dict[str, Any]) -> list[tuple[str, list[str]]]:
    return [(one["kind"], [line["slot_key"] for line in one["slots"]]) for one in found["prescribed"]["blocks"]]


def stored(cast: Cast, row: PlannedSession) -> PlannedSession:
    with business_scope(cast.business_id):
        return PlannedSession.objects.get(id=row.id)


def faults(answer: Any) -> list[tuple[str, str]]:
    assert answer.status_code == 400, answer.content
    return [(one["pointer"], one["code"]) for one in answer.json()["errors"]]


def planned(row: PlannedSession) -> dict[str, Any]:
    """All that is written out from a session, its arrays too."""
    names = (
        "prescribed set_slots set_figures set_loads_kg planned_reps slot_classes planned_work_sets planned_low_min "
        "planned_high_min title template_key"
    )
    return {name: getattr(row, name) for name in names.split()}


def test_a_slot_taken_out_and_one_added_are_planned_timed_and_counted(cast: Cast, row: PlannedSession) -> None:
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
    found = shown(
        change(
            cast,
            row,
            {"slot_key": "B2", "take_out": "slot"},
            {"slot_key": "C1", "add": {"block": {"kind": "straight", "label": "C"}}}
            | {"exercise": "front-squat", "goal": "strength", "rest_s": 150, "sets": [PERCENT], "notes": "Light."},
        )
    )
    assert layout(found) == [("straight", ["A1"]), ("straight", ["B1"]), ("straight", ["C1"])]
    assert found["prescribed"]["blocks"][1]["slots"][0]["rest_s"] == 120
    line = found["prescribed"]["blocks"][2]["slots"][0]
    assert (line["added"], line["exercise_name"]) == (True, "Front squat")
    assert (line["goal"], line["notes"]) == ("strength", "Light.")
    assert (line["sets"][0]["load_kg"], line["sets"][0]["load_status"]) == ("80", "resolved")
    assert "added" not in found["prescribed"]["blocks"][0]["slots"][0]
    assert found["planned_work_sets"] == 4 + 3 + 2
    assert set(found["slot_classes"]) == {"A1", "B1", "C1"}
    assert found["changes"] == {
        "added": [
            {
                "slots": [
                    {
                        "slot_key": "C1",
                        "exercise": "front-squat",
                        "goal": "strength",
                        "per_side": False,
                        "rest_s": 150,
                        "notes": "Light.",
                        "sets": [{**PERCENT, "kind": "work", "load": {**PERCENT["load"], "pct": "80"}}],
                    }
                ],
                "block": {"kind": "straight", "label": "C"},
            }
        ],
        "removed": ["B2"],
    }
    now = stored(cast, row)
    assert now.set_slots == ["A1"] * 6 + ["B1"] * 3 + ["C1"] * 2
    assert now.set_loads_kg[-2:] == [80, 80]
    assert now.planned_reps == (4 + 3 + 2) * 5
    with business_scope(cast.business_id):
        others = [*sessions(cast.anna.id), *sessions(cast.ben.id)]
    assert {one.id for one in others if one.changes is not None} == {row.id}


def test_a_session_with_less_in_it_takes_less_time(cast: Cast, row: PlannedSession) -> None:
    found = shown(change(cast, row, {"slot_key": "B1", "take_out": "block"}))
    assert layout(found) == [("straight", ["A1"])]
    assert found["planned_high_min"] < float(row.planned_high_min)
    assert found["planned_work_sets"] == 4


def test_taking_all_back_gives_what_stood_there_to_the_byte(cast: Cast, row: PlannedSession) -> None:
    new = {"slot_key": "A2", "add": {"after": "A1"}, "exercise": "pull-up", "sets": [FIVE]}
    found = shown(change(cast, row, {"slot_key": "B1", "take_out": "slot"}, new))
    assert layout(found) == [("paired", ["A1", "A2"]), ("straight", ["B2"])]
    back = shown(change(cast, row))
    assert (back["changes"], back["changed_by"]) == (None, None)
    assert planned(stored(cast, row)) == planned(row)
    assert orjson.dumps(stored(cast, row).prescribed) == orjson.dumps(row.prescribed)
    change(cast, row, {"slot_key": "B1", "take_out": "slot"}, new)
    shown(change(cast, row, {"slot_key": "A2"}, {"slot_key": "B1"}))
    assert planned(stored(cast, row)) == planned(row)


def test_a_circuit_is_added_slot_by_slot_in_one_call(cast: Cast, row: PlannedSession) -> None:
    entry = {"exercise": "rowing-machine", "distance_m": 500}
    block = {"kind": "circuit", "rounds": 3, "entry": entry}
    once = [{"reps_low": 10}]
    first = {"slot_key": "C1", "add": {"block": block, "before": "B1"}, "exercise": "push-up", "sets": once}
    second = {"slot_key": "C2", "add": {"after": "C1"}, "exercise": "sit-up", "sets": once}
    found = shown(change(cast, row, first, second))
    assert layout(found)[1] == ("circuit", ["C1", "C2"])
    assert found["prescribed"]["blocks"][1]["entry"]["exercise_name"] == "Rowing machine"
    assert faults(change(cast, row, {"slot_key": "C2", "take_out": "slot"})) == [("#/prescribed", "slot_count")]
    assert layout(shown(change(cast, row, {"slot_key": "C2", "take_out": "block"}))) == layout(
        {"prescribed": row.prescribed}
    )


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        ({"slot_key": "A1", "take_out": "week"}, "#/prescribed/0/take_out"),
        ({"slot_key": "A1", "take_out": "slot", "rest_s": 60}, "#/prescribed/0/take_out"),
        ({"slot_key": "Z9", "take_out": "slot"}, "#/prescribed/0/slot_key"),
        ({"slot_key": "A1", "goal": "size"}, "#/prescribed/0/goal"),
        ({"slot_key": "C1", "add": {}, "exercise": "pull-up", "sets": [FIVE]}, "#/prescribed/0/add/after"),
        ({"slot_key": "C1", "add": {"after": "A1"}, "sets": [FIVE]}, "#/prescribed/0/exercise"),
        ({"slot_key": "C1", "add": {"after": "A1"}, "exercise": "pull-up"}, "#/prescribed/0/sets"),
        ({"slot_key": "C1", "add": {"after": "A1"}, "exercise": "pul-up", "sets": [FIVE]}, "#/prescribed/0/exercise"),
        (
            {"slot_key": "C1", "add": {"after": "A1", "before": "B1"}, "exercise": "dip"},
            "#/prescribed/0/add/before",
        ),
        ({"slot_key": "C1", "add": {"block": 3}, "exercise": "pull-up"}, "#/prescribed/0/add/block"),
        (
            {"slot_key": "C1", "add": {"block": {"kind": "straight", "slots": []}}, "exercise": "pull-up"},
            "#/prescribed/0/add/block/slots",
        ),
        (
            {"slot_key": "C1", "add": {"block": {"kind": "interval"}}, "exercise": "pull-up", "sets": [FIVE]},
            "#/prescribed/0/add/block/work_s",
        ),
        (
            {"slot_key": "C1", "exercise": "pull-up", "sets": [FIVE]}
            | {"add": {"block": {"kind": "max_rounds", "minutes": 5, "entry": {"exercise": "rowin"}}}},
            "#/prescribed/0/add/block/entry/exercise",
        ),
        (
            {"slot_key": "C1", "exercise": "pull-up", "sets": [{"reps_low": 5}]}
            | {"add": {"block": {"kind": "max_rounds", "minutes": 5, "entry": {"exercise": 5}}}},
            "#/prescribed/0/add/block/entry/exercise",
        ),
        ({"slot_key": "A1", "add": {"after": "B1"}, "exercise": "pull-up", "sets": [FIVE]}, "#/prescribed/0/slot_key"),
        ({"slot_key": "", "take_out": "slot"}, "#/prescribed/0/slot_key"),
    ],
)
def test_what_nobody_could_follow_is_refused_at_its_place(
    cast: Cast, row: PlannedSession, sent: dict[str, Any], pointer: str
) -> None:
    assert pointer in {place for place, _code in faults(change(cast, row, sent))}
    assert stored(cast, row).row_version == row.row_version


def test_a_slot_is_not_taken_out_while_another_takes_its_load(cast: Cast) -> None:
    same = [{"count": 2, "reps_low": 8, "load": {"kind": "same_as", "slot_key": "A1"}}]
    blocks = [
        {"kind": "straight", "slots": [squat_slot()]},
        {"kind": "straight", "slots": [slot("B1", "front-squat", sets=same)]},
    ]
    with business_scope(cast.business_id):
        assign(cast.head, published(document(*blocks)), cast.anna.id)
        row = sessions(cast.anna.id)[0]
    out = {"slot_key": "A1", "take_out": "slot"}
    answer = change(cast, row, out)
    assert faults(answer) == [("#/prescribed/0/slot_key", "load_of_removed_slot")]
    assert "B1 takes its load from A1: give B1 another load, or take it out too." in answer.json()["detail"]
    found = shown(change(cast, row, out, {"slot_key": "B1", "sets": [FIVE]}))
    assert layout(found) == [("straight", ["B1"])]
    # Put back as its version has it, B1 would take a load that is not there.
    assert [code for _place, code in faults(change(cast, row, {"slot_key": "B1"}))] == ["load_of_removed_slot"]


def test_a_clients_substitutes_and_holds_bear_on_what_is_added(cast: Cast, row: PlannedSession) -> None:
    with business_scope(cast.business_id):
        Assignment.objects.filter(client=cast.anna).update(substitutions={"deadlift": "kettlebell-deadlift"})
    load = {"count": 2, "reps_low": 5, "load": {"kind": "absolute", "load_kg": 90}}
    found = shown(
        change(
            cast, row, {"slot_key": "A2", "add": {"after": "A1"}, "exercise": "deadlift", "sets": [load], "rest_s": 60}
        )
    )
    line = found["prescribed"]["blocks"][0]["slots"][1]
    assert (line["exercise"], line["substituted_for"]) == ("kettlebell-deadlift", "deadlift")
    assert (line["sets"][0]["load_status"], line["sets"][0]["load_kg"]) == ("by_effort", None)


def test_what_is_added_and_held_for_pain_says_so(cast: Cast, row: PlannedSession) -> None:
    with business_scope(cast.business_id):
        hold = WantedHold(
            client_id=cast.anna.id,
            flag_id=uuid4(),
            scope="region:shoulder",
            action="stop_movement",
            from_date=NOON.date(),
        )
        set_holds(client_ids=[cast.anna.id], holds=[hold], now=NOON)
    new = {"slot_key": "A2", "add": {"after": "A1"}, "exercise": "overhead-press", "sets": [FIVE]}
    found = shown(change(cast, row, new))
    assert "overhead-press" in {one["exercise"] for one in found["hold_warnings"]}


def test_a_swap_for_many_reaches_an_added_slot(cast: Cast, row: PlannedSession) -> None:
    change(cast, row, {"slot_key": "C1", "add": {"after": "A1"}, "exercise": "front-squat", "sets": [FIVE]})
    swap = {"kind": "swap", "exercise": "front-squat", "instead": "goblet-squat"}
    answer = cast.api(cast.coach).post(
        f"{PATH}/bulk-change",
        {"planned_sessions": [str(row.id)], "change": swap},
        format="json",
    )
    assert answer.status_code == 200, answer.content
    assert stored(cast, row).prescribed["blocks"][0]["slots"][1]["exercise"] == "goblet-squat"


def test_the_changes_hold_in_a_new_version_and_what_has_no_place_is_said_and_kept(
    cast: Cast, version: Version, row: PlannedSession
) -> None:
    change(
        cast,
        row,
        {"slot_key": "B2", "take_out": "slot"},
        {"slot_key": "A2", "add": {"after": "A1"}, "exercise": "pull-up", "sets": [FIVE]},
        {"slot_key": "C1", "add": {"block": {"kind": "straight"}}, "exercise": "push-up", "sets": [FIVE]},
    )
    kept = stored(cast, row).changes
    heavier = document()
    heavier["weeks"][1]["days"][0]["blocks"][0]["slots"][0]["sets"][1]["count"] = 5
    with business_scope(cast.business_id):
        second = next_version(version, heavier)
    assert move(cast, second, cast.anna).json()["changes_without_place"] == []
    now = stored(cast, row)
    left = [("paired", ["A1", "A2"]), ("straight", ["B1"]), ("straight", ["C1"])]
    assert layout({"prescribed": now.prescribed}) == left
    assert now.prescribed["blocks"][0]["slots"][0]["sets"][1]["count"] == 5

    other = document({"kind": "straight", "slots": [slot("B1", "bench-press")]})
    with business_scope(cast.business_id):
        third = next_version(version, other)
    lost = move(cast, third, cast.anna).json()["changes_without_place"]
    assert {one["slot_key"]: one["detail"] for one in lost} == {
        "A2": "A2 was added beside A1; the session has the slots B1, and no such one.",
        "B2": "B2 was taken out; the session has the slots B1, and no such one.",
    }
    now = stored(cast, row)
    assert layout({"prescribed": now.prescribed}) == [("straight", ["B1"]), ("straight", ["C1"])]
    assert now.changes == kept


def test_a_new_reference_load_resolves_what_was_added(cast: Cast, row: PlannedSession) -> None:
    new = {"slot_key": "A2", "add": {"after": "A1"}, "exercise": "front-squat", "sets": [PERCENT]}
    line = shown(change(cast, row, new))["prescribed"]["blocks"][0]["slots"][1]
    assert (line["sets"][0]["load_status"], line["sets"][0]["load_kg"]) == ("needs_reference", None)
    with business_scope(cast.business_id):
        record_reference_load(
            actor=acting(cast.coach),
            client_id=cast.anna.id,
            exercise="front-squat",
            kind="tested",
            load=Load(Decimal(90), "kg"),
            on_date=NOON.date(),
            now=NOON,
        )
    assert stored(cast, row).set_loads_kg[6:8] == [70, 70]


def test_an_exercise_merged_into_another_is_renamed_in_what_was_added(cast: Cast, row: PlannedSession) -> None:
    change(cast, row, {"slot_key": "A2", "add": {"after": "A1"}, "exercise": "front-squat", "sets": [FIVE]})
    body = {"into": "back-squat"}
    answer = cast.api(cast.coach).post("/api/v1/exercises/front-squat/merge", body, format="json")
    assert answer.status_code == 200, answer.content
    now = stored(cast, row)
    assert now.changes is not None
    assert now.changes["added"][0]["slots"][0]["exercise"] == "back-squat"
    assert now.prescribed["blocks"][0]["slots"][1]["exercise"] == "back-squat"


def test_the_card_shows_what_is_added_and_not_what_is_taken_out(cast: Cast, row: PlannedSession) -> None:
    new = {"slot_key": "C1", "add": {"block": {"kind": "straight"}}, "exercise": "push-up", "sets": [FIVE]}
    shown(change(cast, row, {"slot_key": "B2", "take_out": "slot"}, new))
    api = cast.api(cast.client_member)
    card = api.get(f"{PATH}/{row.id}/card").json()
    lines = [line for one in card["blocks"] for line in one["exercises"]]
    assert [(line["slot_key"], line["added"]) for line in lines] == [("A1", False), ("B1", False), ("C1", True)]
    page = api.get(f"{PATH}/{row.id}/card", HTTP_ACCEPT="text/html").content.decode()
    assert page.count("added for this session") == 1
    assert "Pull-up" not in page
    sheet = api.get(f"{PATH}/{row.id}/card", HTTP_ACCEPT="application/pdf")
    assert (sheet.status_code, sheet.content[:5]) == (200, b"%PDF-")


def test_only_what_is_still_planned_is_changed_and_only_by_its_coach(cast: Cast, row: PlannedSession) -> None:
    out = {"slot_key": "B2", "take_out": "slot"}
    assert change(cast, row, out, api=cast.api(cast.client_member)).json()["code"] == "coach_only"
    assert change(cast, row, out, api=cast.api(cast.other_coach)).status_code == 404
    with business_scope(cast.business_id):
        PlannedSession.objects.filter(id=row.id).update(state="done")
    assert change(cast, row, out).json()["code"] == "session_performed"


def test_the_week_that_it_is_planned_in_is_reckoned_anew(cast: Cast, row: PlannedSession) -> None:
    with business_scope(cast.business_id):
        StaleWeek.objects.all().delete()
    shown(change(cast, row, {"slot_key": "B2", "take_out": "slot"}))
    with business_scope(cast.business_id):
        assert set(StaleWeek.objects.values_list("client_id", "week_start")) == {
            (cast.anna.id, date(2031, 3, 10) + timedelta(days=7))
        }
