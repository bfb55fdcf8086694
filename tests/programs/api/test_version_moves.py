"""Moving clients to another version, through the API."""

import copy
from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Client, StaleWeek
from coaching.tenancy.scope import business_scope
from programs.actions.performances import Performance, record_performance
from programs.actions.versions import publish_version, write_draft
from programs.models import Assignment, AssignmentVersion, PlannedSession, Version
from tests.programs.documents import MONDAY, acting, assign, content, day, published, sessions, squat_slot
from tests.scenario import NOON, Cast

PATH = "/api/v1/assignments"
SECOND_WEEK = "2031-03-17"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def heavier(**more: Any) -> dict[str, Any]:
    """The next version: five sets of 90 kg."""
    document = content(load_kg="90", kind="absolute", **more)
    for week in document["weeks"]:
        for one in week["days"]:
            one["blocks"][0]["slots"][0]["sets"][1]["count"] = 5
    return document


def next_version(before: Version, document: dict[str, Any]) -> Version:
    """Publish the next version of a variant; call it in the business's scope."""
    made = write_draft(program_id=before.variant.program_id, variant_id=before.variant_id, content=document)
    publish_version(actor_membership_id=None, version_id=made.id, now=NOON)
    return Version.objects.get(id=made.id)


@pytest.fixture
def first(cast: Cast) -> Version:
    with business_scope(cast.business_id):
        made = published()
        assign(cast.head, made, cast.anna.id, cast.ben.id, cast.carl.id)
        return Version.objects.select_related("variant").get(id=made.id)


@pytest.fixture
def second(cast: Cast, first: Version) -> Version:
    with business_scope(cast.business_id):
        return next_version(first, heavier())


def assignment_of(cast: Cast, client: Client) -> Assignment:
    with business_scope(cast.business_id):
        return Assignment.objects.get(client=client)


def move(cast: Cast, version: Version, client: Client, from_date: str = SECOND_WEEK, **more: Any) -> Any:
    body = {"version": str(version.id), "from_date": from_date, **more}
    return cast.api(cast.coach).post(f"{PATH}/{assignment_of(cast, client).id}/move-to-version", body, format="json")


def loads(rows: list[PlannedSession]) -> list[Any]:
    return [row.prescribed["blocks"][0]["slots"][0]["sets"][1]["load_kg"] for row in rows]


def dates(rows: list[PlannedSession]) -> list[str]:
    return [row.local_date.isoformat() for row in rows]


def test_from_the_date_on_a_client_follows_the_new_version(cast: Cast, second: Version) -> None:
    answer = move(cast, second, cast.anna)
    assert answer.status_code == 200, answer.content
    result = answer.json()
    assert (result["outcome"], result["rewritten_count"]) == ("moved", 3)
    assert (result["added_count"], result["removed_count"], result["last_date"]) == (0, 0, "2031-03-21")
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        assert loads(rows) == ["80"] * 3 + ["90"] * 3
        assert {row.version_id for row in rows[3:]} == {second.id}
        assert (rows[2].planned_work_sets, rows[3].planned_work_sets) == (4, 5)
        assert rows[3].planned_low_min > rows[2].planned_low_min
        assert loads(sessions(cast.ben.id)) == ["80"] * 6
        weeks = set(StaleWeek.objects.filter(client=cast.anna).values_list("week_start", flat=True))
        assert MONDAY + timedelta(days=7) in weeks
    versions = cast.api(cast.coach).get(f"{PATH}/{result['assignment']}").json()["versions"]
    assert [(given["number"], given["from_date"]) for given in versions] == [(1, "2031-03-10"), (2, SECOND_WEEK)]


def test_what_was_done_missed_or_excused_stays(cast: Cast, second: Version) -> None:
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        record_performance(performances=[Performance(rows[0].id, MONDAY, 4, finished=True)], now=NOON)
        PlannedSession.objects.filter(id=rows[1].id).update(state="missed")
        PlannedSession.objects.filter(id=rows[2].id).update(state="excused", excuse_reason="A wedding.")
    result = move(cast, second, cast.anna, from_date="2031-03-10").json()
    assert result["rewritten_count"] == 3
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        assert loads(rows) == ["80"] * 3 + ["90"] * 3
        assert [row.state for row in rows[:3]] == ["done", "missed", "excused"]


def test_a_session_given_back_after_the_move_follows_the_new_version(cast: Cast, second: Version) -> None:
    api = cast.api(cast.coach)
    away = {"client": str(cast.anna.id), "starts_on": "2031-03-17", "ends_on": "2031-03-17", "kind": "holiday"}
    absence = api.post("/api/v1/absences", away, format="json").json()
    with business_scope(cast.business_id):
        by_coach = sessions(cast.anna.id)[4]
    path = f"/api/v1/planned-sessions/{by_coach.id}"
    api.patch(path, {"state": "excused"}, format="json", HTTP_IF_MATCH="*")
    assert move(cast, second, cast.anna).json()["rewritten_count"] == 1
    with business_scope(cast.business_id):
        assert loads(sessions(cast.anna.id)) == ["80"] * 5 + ["90"]
    api.delete(f"/api/v1/absences/{absence['id']}", HTTP_IF_MATCH="*")
    api.patch(path, {"state": "planned"}, format="json", HTTP_IF_MATCH="*")
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        assert loads(rows) == ["80"] * 3 + ["90"] * 3
        assert {row.version_id for row in rows[3:]} == {second.id}


def test_sessions_that_the_new_version_lacks_come_off_and_new_weeks_follow_the_last(cast: Cast, first: Version) -> None:
    longer = heavier(weeks=4)
    longer["weeks"][1]["days"].pop()
    with business_scope(cast.business_id):
        version = next_version(first, longer)
    result = move(cast, version, cast.anna).json()
    assert (result["rewritten_count"], result["removed_count"], result["added_count"]) == (2, 1, 6)
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        assert [(row.week_number, row.day_number) for row in rows[3:7]] == [(2, 1), (2, 2), (3, 1), (3, 2)]
        assert dates(rows[3:]) == [
            "2031-03-17",
            "2031-03-19",
            "2031-03-24",
            "2031-03-26",
            "2031-03-28",
            "2031-03-31",
            "2031-04-02",
            "2031-04-04",
        ]
        assert all(row.due_at is not None for row in rows)


def test_added_weeks_follow_sessions_that_were_shifted(cast: Cast, first: Version) -> None:
    api, path = cast.api(cast.coach), f"{PATH}/{assignment_of(cast, cast.anna).id}"
    api.post(f"{path}/shift", {"days": 8}, format="json")
    with business_scope(cast.business_id):
        version = next_version(first, heavier(weeks=3))
    assert move(cast, version, cast.anna, from_date="2031-03-25").json()["added_count"] == 3
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        assert dates(rows) == [
            "2031-03-18",
            "2031-03-20",
            "2031-03-22",
            "2031-03-25",
            "2031-03-27",
            "2031-03-29",
            "2031-04-01",
            "2031-04-03",
            "2031-04-05",
        ]
        assert loads(rows) == ["80"] * 3 + ["90"] * 6


def test_a_version_with_more_days_takes_the_weekdays_sent_with_the_move(cast: Cast, first: Version) -> None:
    with business_scope(cast.business_id):
        version = next_version(first, heavier(days=4))
    refused = move(cast, version, cast.anna)
    assert (refused.status_code, refused.json()["reason"]) == (409, "calendar_conflict")
    result = move(cast, version, cast.anna, weekdays=[0, 1, 3, 4]).json()
    assert (result["rewritten_count"], result["added_count"]) == (3, 1)
    with business_scope(cast.business_id):
        rows = [row for row in sessions(cast.anna.id) if row.week_number == 2]
        assert dates(rows) == ["2031-03-17", "2031-03-18", "2031-03-20", "2031-03-21"]
        assert Assignment.objects.get(client=cast.anna).weekdays == [0, 1, 3, 4]


@pytest.mark.parametrize(("calendar", "late"), [("any_days_in_week", None), ("in_sequence", 3)])
def test_other_calendars_move_too(cast: Cast, calendar: str, late: int | None) -> None:
    with business_scope(cast.business_id):
        before = published()
        before = Version.objects.select_related("variant").get(id=before.id)
        assign(cast.coach, before, cast.anna.id, calendar=calendar, weekdays=None, late_after_days=late)
        version = next_version(before, heavier(weeks=3))
    result = move(cast, version, cast.anna, from_date="2031-03-10").json()
    assert (result["rewritten_count"], result["added_count"]) == (6, 3)
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        assert loads(rows) == ["90"] * 9
        ends = [row.window_end for row in rows]
        assert ends == sorted(ends)
        assert ends[-1] == MONDAY + timedelta(days=20 if late is None else 26)
        assert [row.due_at is None for row in rows] == [late is not None and row is not rows[0] for row in rows]


def test_a_clients_own_substitutes_and_one_off_changes_hold_in_the_new_version(cast: Cast, second: Version) -> None:
    with business_scope(cast.business_id):
        Assignment.objects.filter(client=cast.anna).update(substitutions={"back-squat": "goblet-squat"})
        changed = sessions(cast.anna.id)[4]
    api = cast.api(cast.coach)
    api.patch(
        f"/api/v1/planned-sessions/{changed.id}",
        {"prescribed": [{"slot_key": "A1", "rest_s": 75}]},
        format="json",
        HTTP_IF_MATCH="*",
    )
    move(cast, second, cast.anna)
    with business_scope(cast.business_id):
        rows = sessions(cast.anna.id)
        slots = [row.prescribed["blocks"][0]["slots"][0] for row in rows]
        assert {slot["exercise"] for slot in slots[3:]} == {"goblet-squat"}
        assert {slot["substituted_for"] for slot in slots[3:]} == {"back-squat"}
        assert [slot["rest_s"] for slot in slots[3:]] == [180, 75, 180]
        assert slots[4]["sets"][1]["count"] == 5
        assert rows[4].changed_by_id == cast.coach.id


def test_a_one_off_change_that_has_no_place_is_told_and_kept(cast: Cast, first: Version) -> None:
    document = heavier()
    for one in document["weeks"][1]["days"]:
        one["blocks"][0]["slots"][0]["slot_key"] = "B1"
    with business_scope(cast.business_id):
        version = next_version(first, document)
        changed = sessions(cast.anna.id)[3]
    cast.api(cast.coach).patch(
        f"/api/v1/planned-sessions/{changed.id}",
        {"prescribed": [{"slot_key": "A1", "rest_s": 75}]},
        format="json",
        HTTP_IF_MATCH="*",
    )
    (lost,) = move(cast, version, cast.anna).json()["changes_without_place"]
    assert (lost["week_number"], lost["day_number"], lost["slot_key"]) == (2, 1, "A1")
    assert "B1" in lost["detail"]
    with business_scope(cast.business_id):
        assert sessions(cast.anna.id)[3].changes == {"slots": {"A1": {"rest_s": 75}}}


def test_a_deload_week_of_the_new_version_is_marked(cast: Cast, first: Version) -> None:
    document = heavier()
    document["weeks"][1]["deload"] = True
    with business_scope(cast.business_id):
        version = next_version(first, document)
    move(cast, version, cast.anna, from_date="2031-03-10")
    with business_scope(cast.business_id):
        assert [row.deload for row in sessions(cast.anna.id)] == [False] * 3 + [True] * 3


def test_a_later_move_is_overtaken_by_an_earlier_one(cast: Cast, first: Version, second: Version) -> None:
    move(cast, second, cast.anna, from_date="2031-03-19")
    with business_scope(cast.business_id):
        third = next_version(first, content(load_kg="95", kind="absolute"))
    move(cast, third, cast.anna, from_date=SECOND_WEEK)
    with business_scope(cast.business_id):
        followed = AssignmentVersion.objects.filter(assignment__client=cast.anna).order_by("from_date")
        assert [given.version_id for given in followed] == [first.id, third.id]
        assert loads(sessions(cast.anna.id)) == ["80"] * 3 + ["95"] * 3


def test_many_move_in_one_call_with_an_answer_each(
    cast: Cast, neighbour: Cast, first: Version, second: Version
) -> None:
    with business_scope(neighbour.business_id):
        assign(neighbour.head, published(), neighbour.anna.id)
    anna, ben, carl = (assignment_of(cast, client) for client in (cast.anna, cast.ben, cast.carl))
    stranger = assignment_of(neighbour, neighbour.anna)
    cast.api(cast.coach).post(f"{PATH}/{ben.id}/pause", {"from_date": SECOND_WEEK}, format="json")
    answer = cast.api(cast.coach).post(
        f"{PATH}/move-to-version",
        {
            "version": str(second.id),
            "from_date": SECOND_WEEK,
            "assignments": [
                {"assignment": str(anna.id), "from_date": "2031-03-19"},
                {"assignment": str(ben.id)},
                {"assignment": str(carl.id)},
                {"assignment": str(stranger.id)},
                {"assignment": str(anna.id)},
                {"assignment": str(uuid4())},
            ],
        },
        format="json",
    )
    assert answer.status_code == 200, answer.content
    assert answer.json()["summary"] == {"moved": 1, "conflict": 2, "refused": 3}
    found = [(result["outcome"], result["code"]) for result in answer.json()["results"]]
    assert found == [
        ("moved", ""),
        ("conflict", "not_active"),
        ("refused", "unknown_object"),
        ("refused", "unknown_object"),
        ("conflict", "named_twice"),
        ("refused", "unknown_object"),
    ]
    assert answer.json()["results"][0]["rewritten_count"] == 2
    with business_scope(neighbour.business_id):
        assert loads(sessions(neighbour.anna.id)) == ["80"] * 6


def test_what_keeps_one_assignment_from_moving_is_told(cast: Cast, first: Version, second: Version) -> None:
    with business_scope(cast.business_id):
        other = published(variant="Home kit")
    for version, from_date, reason in (
        (other, SECOND_WEEK, "other_variant"),
        (second, "2031-03-04", "date_in_past"),
        (first, SECOND_WEEK, "same_version"),
    ):
        answer = move(cast, version, cast.anna, from_date=from_date)
        assert (answer.status_code, answer.json()["code"], answer.json()["reason"]) == (409, "not_movable", reason)


def test_a_draft_and_a_strangers_version_move_nobody(cast: Cast, neighbour: Cast, first: Version) -> None:
    with business_scope(cast.business_id):
        draft = write_draft(program_id=first.variant.program_id, variant_id=first.variant_id, content=heavier())
    with business_scope(neighbour.business_id):
        theirs = published()
    unready = move(cast, draft, cast.anna)
    assert (unready.status_code, unready.json()["code"]) == (409, "not_assignable")
    unknown = move(cast, theirs, cast.anna)
    assert (unknown.status_code, unknown.json()["errors"][0]["pointer"]) == (400, "#/version")


def test_a_strangers_assignment_is_not_there(cast: Cast, neighbour: Cast, second: Version) -> None:
    assignment = assignment_of(cast, cast.anna)
    body = {"version": str(second.id), "from_date": SECOND_WEEK}
    with business_scope(neighbour.business_id):
        theirs = published()
    for api, sent in (
        (cast.api(cast.other_coach), body),
        (neighbour.api(neighbour.owner), body | {"version": str(theirs.id)}),
    ):
        answer = api.post(f"{PATH}/{assignment.id}/move-to-version", sent, format="json")
        assert answer.status_code == 404
    for api in (cast.api(cast.viewer), cast.api(cast.client_member), cast.key("plans:read")):
        answer = api.post(f"{PATH}/{assignment.id}/move-to-version", body, format="json")
        assert answer.status_code == 403


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"from": "2031-03-17"}, "#/from"),
        ({"from_date": "soon"}, "#/from_date"),
        ({"assignments": []}, "#/assignments"),
        ({"assignments": [{"assignment": "anna"}]}, "#/assignments/0/assignment"),
        ({"assignments": [{"assignment": str(uuid4()), "version": str(uuid4())}]}, "#/assignments/0/version"),
    ],
)
def test_a_bad_call_is_refused_at_its_place(cast: Cast, change: dict[str, Any], pointer: str) -> None:
    body = {"version": str(uuid4()), "from_date": SECOND_WEEK, "assignments": [{"assignment": str(uuid4())}]}
    answer = cast.api(cast.coach).post(f"{PATH}/move-to-version", body | change, format="json")
    assert answer.status_code == 400
    assert pointer in {fault["pointer"] for fault in answer.json()["errors"]}


def test_one_and_fifty_assignments_take_as_many_statements(cast: Cast) -> None:
    with business_scope(cast.business_id):
        clients = [
            Client.objects.create(name=f"Client {number}", coach=cast.coach, time_zone="UTC", unit="kg").id
            for number in range(51)
        ]
        before = Version.objects.select_related("variant").get(id=published().id)
        assigned = assign(cast.coach, before, *clients)
        version = next_version(before, heavier(weeks=3))
    api, counts = cast.api(cast.coach), []
    for some in (assigned[:1], assigned[1:]):
        body = {
            "version": str(version.id),
            "from_date": SECOND_WEEK,
            "assignments": [{"assignment": str(result.assignment_id)} for result in some],
        }
        with CaptureQueriesContext(connection) as captured:
            answer = api.post(f"{PATH}/move-to-version", body, format="json")
        assert answer.json()["summary"]["moved"] == len(some)
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_a_move_to_an_exercise_without_reference_says_what_to_test(cast: Cast, first: Version) -> None:
    document = copy.deepcopy(content(kind="percent", of="tested", pct="75"))
    document["weeks"][1]["days"][0] = day(1, squat_slot(kind="percent", of="tested", pct="80"))
    with business_scope(cast.business_id):
        version = next_version(first, document)
        assert acting(cast.coach).membership_id == cast.coach.id
    (lack,) = move(cast, version, cast.anna).json()["needs_reference"]
    assert (lack["exercise"], lack["of"]) == ("back-squat", "tested")


def test_what_of_the_new_version_does_not_fit_a_client_comes_with_what_to_do_instead(
    cast: Cast, first: Version
) -> None:
    document = copy.deepcopy(content())
    for week in document["weeks"]:
        week["days"][0]["blocks"][0]["slots"][0]["exercise"] = (
            "leg-press" if week["week_number"] == 1 else "front-squat"
        )
    with business_scope(cast.business_id):
        version = next_version(first, document)
        Client.objects.filter(id=cast.anna.id).update(equipment=["dumbbells"])
        Assignment.objects.filter(client=cast.anna).update(substitutions={"back-squat": "goblet-squat"})
    moved = move(cast, version, cast.anna).json()
    # The first week is over by then, and for the back squat she has a substitute of her own.
    assert [(conflict["exercise"], conflict["substitute"]) for conflict in moved["conflicts"]] == [
        ("front-squat", "dumbbell-squat")
    ]
    assert {warning["exercise"] for warning in moved["warnings"]} == {"front-squat"}
    nobodys = move(cast, version, cast.ben).json()
    assert (nobodys["outcome"], nobodys["conflicts"], nobodys["warnings"]) == ("moved", [], [])
