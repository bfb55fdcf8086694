"""Changing many clients' sessions in one call."""

from collections.abc import Iterator
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Client
from coaching.tenancy.scope import business_scope
from programs.actions.absences import record_absence
from programs.models import PlannedSession
from tests.programs.documents import acting, assign, content, published, sessions
from tests.scenario import NOON, Cast

PATH = "/api/v1/planned-sessions/bulk-change"
WEEK = {"from_date": "2031-03-10", "to_date": "2031-03-16"}


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def rows(cast: Cast) -> list[PlannedSession]:
    with business_scope(cast.business_id):
        assign(cast.head, published(), cast.anna.id, cast.ben.id, cast.carl.id)
        return sessions(cast.anna.id)


def bulk(api: Any, kind: str, *, which: dict[str, Any] | None = None, **fields: Any) -> Any:
    return api.post(PATH, {**(which or WEEK), "change": {"kind": kind, **fields}}, format="json")


def found(cast: Cast, client: Client) -> list[PlannedSession]:
    with business_scope(cast.business_id):
        return sessions(client.id)


def test_a_week_of_everyone_moves_later_in_one_call(cast: Cast, rows: list[PlannedSession]) -> None:
    answer = bulk(cast.api(cast.coach), "shift", days=7)
    assert answer.status_code == 200, answer.content
    assert answer.json()["summary"] == {"changed": 6, "unchanged": 0, "conflict": 0, "refused": 0}
    assert {result["local_date"] for result in answer.json()["results"]} == {"2031-03-17", "2031-03-19", "2031-03-21"}
    for client in (cast.anna, cast.ben):
        assert [row.local_date for row in found(cast, client)][:4] == [
            date(2031, 3, 17),
            date(2031, 3, 19),
            date(2031, 3, 21),
            date(2031, 3, 17),
        ]
    assert found(cast, cast.carl)[0].local_date == date(2031, 3, 10)


def test_a_shift_into_days_away_excuses_and_out_of_them_gives_back(cast: Cast, rows: list[PlannedSession]) -> None:
    with business_scope(cast.business_id):
        record_absence(
            actor=acting(cast.coach),
            client_id=cast.anna.id,
            starts_on=date(2031, 3, 10),
            ends_on=date(2031, 3, 10),
            kind="holiday",
            now=NOON,
        )
    which = {"planned_sessions": [str(rows[0].id)]}
    bulk(cast.api(cast.coach), "shift", days=1, which=which)
    assert found(cast, cast.anna)[0].state == "planned"
    bulk(cast.api(cast.coach), "shift", days=-1, which=which)
    assert found(cast, cast.anna)[0].state == "excused"


def test_a_week_with_too_few_days_gives_back_what_fits_when_a_session_leaves_it(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="any_days_in_week", weekdays=None)
        record_absence(
            actor=acting(cast.coach),
            client_id=cast.anna.id,
            starts_on=date(2031, 3, 10),
            ends_on=date(2031, 3, 14),
            kind="holiday",
            now=NOON,
        )
        first = sessions(cast.anna.id)[0]
    assert [row.state for row in found(cast, cast.anna)][:3] == ["planned", "planned", "excused"]
    bulk(cast.api(cast.coach), "shift", days=7, which={"planned_sessions": [str(first.id)]})
    assert [row.state for row in found(cast, cast.anna)][:3] == ["planned"] * 3


def test_each_session_that_cannot_move_says_why(cast: Cast, neighbour: Cast, rows: list[PlannedSession]) -> None:
    with business_scope(cast.business_id):
        PlannedSession.objects.filter(id=rows[0].id).update(state="done")
        PlannedSession.objects.filter(id=rows[1].id).update(state="paused")
        PlannedSession.objects.filter(id=rows[2].id).update(state="excused", excuse_reason="A wedding.")
        assign(cast.coach, published(), cast.ben.id, calendar="in_sequence", weekdays=None, late_after_days=3)
        sequence = PlannedSession.objects.filter(assignment__calendar="in_sequence").first()
        carls = sessions(cast.carl.id)[0]
    assert sequence is not None
    ids = [*(row.id for row in rows[:4]), sequence.id, carls.id, uuid4()]
    which = {"planned_sessions": [str(session_id) for session_id in ids]}
    answer = bulk(cast.api(cast.coach), "shift", days=-14, which=which)
    assert [(result["outcome"], result["code"]) for result in answer.json()["results"]] == [
        ("conflict", "session_performed"),
        ("conflict", "session_paused"),
        ("conflict", "session_excused"),
        ("conflict", "date_in_past"),
        ("conflict", "in_sequence"),
        ("refused", "unknown_object"),
        ("refused", "unknown_object"),
    ]


def test_sessions_due_by_the_weeks_end_shift_by_whole_weeks(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="any_days_in_week", weekdays=None)
    api = cast.api(cast.coach)
    assert bulk(api, "shift", days=3).json()["results"][0]["code"] == "whole_weeks"
    assert bulk(api, "shift", days=7).json()["summary"]["changed"] == 3
    assert found(cast, cast.anna)[0].window_start == date(2031, 3, 17)


def test_a_closed_gym_excuses_named_clients(cast: Cast, rows: list[PlannedSession]) -> None:
    which = {"clients": [str(cast.anna.id)], "from_date": "2031-03-12", "to_date": "2031-03-12"}
    api = cast.api(cast.coach)
    assert bulk(api, "excuse", which=which, reason="The gym is closed.").json()["summary"]["changed"] == 1
    excused = found(cast, cast.anna)[1]
    assert (excused.state, excused.excuse_reason) == ("excused", "The gym is closed.")
    assert {row.state for row in found(cast, cast.ben)} == {"planned"}
    again = bulk(api, "excuse", which=which, reason="The gym is closed.").json()["results"][0]
    assert (again["outcome"], again["code"]) == ("unchanged", "excused_already")


def test_an_excused_session_of_a_sequence_holds_up_nothing(cast: Cast) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(), cast.anna.id, calendar="in_sequence", weekdays=None, late_after_days=3)
        first = sessions(cast.anna.id)[0]
    bulk(cast.api(cast.coach), "excuse", which={"planned_sessions": [str(first.id)]})
    assert found(cast, cast.anna)[1].due_at is not None


def test_a_deload_keeps_fewer_sets_and_is_marked(cast: Cast, rows: list[PlannedSession]) -> None:
    answer = bulk(cast.api(cast.coach), "deload", sets_pct=50, load_pct=-10)
    assert answer.json()["summary"]["changed"] == 6
    lighter, as_ever = found(cast, cast.anna)[0], found(cast, cast.anna)[3]
    assert (lighter.deload, lighter.planned_work_sets, lighter.changed_by_id) == (True, 2, cast.coach.id)
    work = lighter.prescribed["blocks"][0]["slots"][0]["sets"][1]
    assert (work["count"], work["load_kg"]) == (2, "70")
    assert lighter.planned_high_min < as_ever.planned_high_min
    assert (as_ever.deload, as_ever.planned_work_sets) == (False, 4)


def test_a_deload_week_is_not_made_lighter_twice(cast: Cast) -> None:
    document = content()
    document["weeks"][0]["deload"] = True
    with business_scope(cast.business_id):
        assign(cast.coach, published(document), cast.anna.id)
    assert bulk(cast.api(cast.coach), "deload").json()["results"][0]["code"] == "deload_already"


def test_an_exercise_is_swapped_where_it_stands_and_taken_back(cast: Cast, rows: list[PlannedSession]) -> None:
    api = cast.api(cast.coach)
    swapped = bulk(api, "swap", exercise="back-squat", instead="goblet-squat")
    assert swapped.json()["summary"]["changed"] == 6
    slots = [row.prescribed["blocks"][0]["slots"][0] for row in found(cast, cast.anna)]
    assert [slot["exercise"] for slot in slots] == ["goblet-squat"] * 3 + ["back-squat"] * 3
    assert slots[0]["sets"][1]["load_status"] == "by_effort"
    nothing = bulk(api, "swap", exercise="back-squat", instead="front-squat").json()["results"][0]
    assert (nothing["outcome"], nothing["code"]) == ("unchanged", "exercise_not_in_session")
    onward = bulk(api, "swap", exercise="goblet-squat", instead="front-squat")
    assert onward.json()["summary"]["changed"] == 6
    assert found(cast, cast.anna)[0].changes == {"swaps": {"back-squat": "front-squat", "goblet-squat": "front-squat"}}
    assert bulk(api, "as_prescribed").json()["summary"]["changed"] == 6
    back = found(cast, cast.anna)[0]
    assert (back.changes, back.changed_by_id) == (None, None)
    assert back.prescribed["blocks"][0]["slots"][0]["sets"][1]["load_kg"] == "80"


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"change": {"kind": "shift"}}, "#/change/days"),
        ({"change": {"kind": "shift", "days": 0}}, "#/change/days"),
        ({"change": {"kind": "shift", "days": 7, "reason": "Why not"}}, "#/change/reason"),
        ({"change": {"kind": "swap", "exercise": "back-squat", "instead": "back-sqat"}}, "#/change/instead"),
        ({"change": {"kind": "swap", "exercise": "back-squat", "instead": "plank"}}, "#/change/instead"),
        ({"change": {"kind": "erase"}}, "#/change/kind"),
        ({"change": {"kind": "excuse"}, "to_date": "2031-03-01"}, "#/to_date"),
        ({"change": {"kind": "excuse"}, "planned_sessions": [str(uuid4())]}, "#/planned_sessions"),
        ({"change": {"kind": "excuse"}, "clients": [str(uuid4())]}, "#/clients/0"),
        ({"change": {"kind": "excuse"}, "client": str(uuid4())}, "#/client"),
    ],
)
def test_a_bad_call_is_refused_at_its_place(
    cast: Cast, rows: list[PlannedSession], body: dict[str, Any], pointer: str
) -> None:
    answer = cast.api(cast.coach).post(PATH, WEEK | body, format="json")
    assert answer.status_code == 400, answer.content
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}


def test_sessions_are_named_by_days_or_by_ids(cast: Cast) -> None:
    answer = cast.api(cast.coach).post(PATH, {"change": {"kind": "excuse"}}, format="json")
    assert {fault["pointer"] for fault in answer.json()["errors"]} == {"#/from_date", "#/to_date"}


def test_only_coaches_change_and_a_neighbour_sees_nothing(
    cast: Cast, neighbour: Cast, rows: list[PlannedSession]
) -> None:
    for api in (cast.api(cast.viewer), cast.api(cast.client_member), cast.key("plans:read")):
        assert bulk(api, "excuse").status_code == 403
    assert bulk(neighbour.api(neighbour.owner), "excuse").json()["results"] == []
    named = {"planned_sessions": [str(rows[0].id)]}
    (result,) = bulk(neighbour.api(neighbour.owner), "deload", which=named).json()["results"]
    assert (result["outcome"], result["client"]) == ("refused", None)
    stranger = {**WEEK, "clients": [str(cast.carl.id)]}
    answer = bulk(cast.api(cast.coach), "excuse", which=stranger)
    assert (answer.status_code, answer.json()["code"]) == (400, "unknown_object")


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "shift", "days": 7},
        {"kind": "excuse"},
        {"kind": "deload"},
        {"kind": "swap", "exercise": "back-squat", "instead": "front-squat"},
    ],
)
def test_one_and_fifty_clients_take_as_many_statements(cast: Cast, change: dict[str, Any]) -> None:
    with business_scope(cast.business_id):
        clients = [
            Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg").id
            for number in range(51)
        ]
        assign(cast.coach, published(), *clients)
    api, counts = cast.api(cast.coach), []
    for some in (clients[:1], clients[1:]):
        body = WEEK | {"clients": [str(client) for client in some], "change": change}
        with CaptureQueriesContext(connection) as captured:
            answer = api.post(PATH, body, format="json")
        assert answer.json()["summary"]["changed"] == 3 * len(some)
        counts.append(len(captured))
    assert counts[0] == counts[1]
