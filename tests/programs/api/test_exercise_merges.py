"""Merging an exercise that stands in the catalogue twice: every log, name, plan and reference goes along."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Client, StaleWeek
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import refresh_weeks
from logs.models import ClientWeek, HeldItem, SetLog
from programs.actions.catalogue import refresh_catalogue
from programs.actions.movement_holds import WantedHold, set_holds
from programs.models import Assignment, Exercise, ReferenceLoad
from programs.selectors.movement_holds import standing_holds
from tests.logs.logging import DAY, check_in, outcomes, post, session, set_
from tests.programs.api.test_own_exercises import own
from tests.programs.documents import assign, content, published, sessions
from tests.scenario import NOON, Cast

PATH = "/api/v1/exercises"


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def double(cast: Cast) -> dict[str, Any]:
    """The coach's own second back squat."""
    answer = cast.api(cast.coach).post(PATH, own(loading="barbell", equipment=["barbell"]), format="json")
    assert answer.status_code == 201, answer.content
    made: dict[str, Any] = answer.json()
    return made


def merge(cast: Cast, exercise: str = "yard-squat", into: str = "back-squat") -> Any:
    return cast.api(cast.coach).post(f"{PATH}/{exercise}/merge", {"into": into}, format="json")


def merged(cast: Cast) -> None:
    answer = merge(cast)
    assert answer.status_code == 200, answer.content


def logged(cast: Cast) -> Any:
    app = cast.key("logs:write")
    post(
        app,
        session_logs=[session(cast.anna)],
        set_logs=[
            set_(cast.anna, "s1-1", exercise="back-squat", load_kg=100, in_reserve=2),
            set_(cast.anna, "s1-2", exercise="yard-squat", load_kg=120, in_reserve=1, set_number=2),
        ],
    )
    return app


def set_logs(cast: Cast) -> dict[str, str]:
    with business_scope(cast.business_id):
        return dict(SetLog.objects.values_list("external_id", "exercise__key"))


def test_every_log_counts_for_the_exercise_that_stays(cast: Cast, double: dict[str, Any]) -> None:
    logged(cast)
    while refresh_weeks(cast.business_id, NOON):
        pass
    merged(cast)
    assert set_logs(cast) == {"s1-1": "back-squat", "s1-2": "back-squat"}
    while refresh_weeks(cast.business_id, NOON):
        pass
    with business_scope(cast.business_id):
        (row,) = ClientWeek.objects.all()
    assert (row.work_sets, row.muscle_sets["quadriceps"]["direct"]) == (2, 2)
    assert list(row.lift_values) == ["back-squat/both/unspecified"]
    # The better of the two sets of the one session: Epley, 120 (1 + 7/30).
    assert row.lift_values["back-squat/both/unspecified"]["value_kg"] == 148


def test_only_the_weeks_of_its_logs_become_stale(cast: Cast, double: dict[str, Any]) -> None:
    logged(cast)
    post(cast.key("logs:write"), session_logs=[session(cast.anna, "s2", local_date="2026-04-01")])
    with business_scope(cast.business_id):
        StaleWeek.objects.all().delete()
    merged(cast)
    with business_scope(cast.business_id):
        assert [str(row.week_start) for row in StaleWeek.objects.all()] == ["2026-03-02"]


def test_a_late_retry_of_a_set_that_was_moved_is_no_correction(cast: Cast, double: dict[str, Any]) -> None:
    app = logged(cast)
    merged(cast)
    retry = set_(cast.anna, "s1-2", exercise="yard-squat", load_kg=120, in_reserve=1, set_number=2)
    assert outcomes(post(app, set_logs=[retry])) == ["unchanged"]
    assert outcomes(post(app, set_logs=[retry | {"reps": 7}])) == ["corrected"]
    assert set_logs(cast)["s1-2"] == "back-squat"


def test_a_swap_for_it_and_a_pain_with_it_stay_as_they_were_said(cast: Cast, double: dict[str, Any]) -> None:
    app = cast.key("logs:write")
    swap = set_(cast.anna, exercise="front-squat", swapped={"from": "yard-squat", "reason": "busy"})
    pain = {"site": "knee", "score": 2, "exercise": "yard-squat", "when": "during", "onset": "known"}
    sent = {"session_logs": [session(cast.anna)], "set_logs": [swap], "check_ins": [check_in(cast.anna, pains=[pain])]}
    assert outcomes(post(app, **sent)) == ["created"] * 3
    merged(cast)
    assert outcomes(post(app, **sent)) == ["unchanged"] * 3


def test_apps_go_on_to_name_the_old_key_or_id(cast: Cast, double: dict[str, Any]) -> None:
    app = logged(cast)
    merged(cast)
    for number, name in enumerate(("yard-squat", double["id"]), start=3):
        sent = set_(cast.anna, f"s1-{number}", exercise=name, set_number=number)
        assert outcomes(post(app, set_logs=[sent])) == ["created"]
        assert outcomes(post(app, set_logs=[sent])) == ["unchanged"]
        assert app.get(f"{PATH}/{name}").json()["key"] == "back-squat"
    assert set(set_logs(cast).values()) == {"back-squat"}


def test_a_set_that_waits_for_its_session_goes_along(cast: Cast, double: dict[str, Any]) -> None:
    app = cast.key("logs:write")
    waiting = set_(cast.anna, exercise="yard-squat")
    post(app, set_logs=[waiting])
    merged(cast)
    post(app, session_logs=[session(cast.anna)])
    assert set_logs(cast) == {"s1-1": "back-squat"}
    assert outcomes(post(app, set_logs=[waiting])) == ["unchanged"]
    with business_scope(cast.business_id):
        assert not HeldItem.objects.exists()


def test_names_move_along_and_the_merged_one_is_listed_no_more(cast: Cast, double: dict[str, Any]) -> None:
    answer = merge(cast).json()
    assert {"Yard squat", "log squat"} <= set(answer["aliases"])
    assert (answer["key"], answer["customised"]) == ("back-squat", True)
    found = cast.api(cast.coach).get(f"{PATH}?search=yard").json()["items"]
    assert [item["key"] for item in found] == ["back-squat"]
    with business_scope(cast.business_id):
        row = Exercise.objects.get(key="yard-squat")
        assert (row.merged_into.key if row.merged_into else "", row.aliases) == ("back-squat", [])


def test_refreshing_the_catalogue_gives_no_merged_name_back(cast: Cast) -> None:
    assert merge(cast, "front-squat", "back-squat").status_code == 200
    with business_scope(cast.business_id):
        assert refresh_catalogue(business_id=cast.business_id, now=NOON).updated == 0
        assert Exercise.objects.get(key="front-squat").merged_into_id is not None
    assert "Front squat" in cast.api(cast.coach).get(f"{PATH}/front-squat").json()["aliases"]


def test_plans_to_come_prescribe_the_one_that_stays(cast: Cast, double: dict[str, Any]) -> None:
    document = content(weeks=1)
    for planned_day in document["weeks"][0]["days"]:
        planned_day["blocks"][0]["slots"][0]["exercise"] = "yard-squat"
    with business_scope(cast.business_id):
        version = published(document)
        assign(cast.coach, version, cast.anna.id)
    merged(cast)
    with business_scope(cast.business_id):
        slots = [row.prescribed["blocks"][0]["slots"][0] for row in sessions(cast.anna.id)]
        assign(cast.coach, version, cast.ben.id)
        later = [row.prescribed["blocks"][0]["slots"][0] for row in sessions(cast.ben.id)]
    assert {(slot["exercise"], slot["exercise_name"]) for slot in slots + later} == {("back-squat", "Back squat")}
    assert "substituted_for" not in slots[0]
    assert cast.api(cast.coach).get(f"/api/v1/program-versions/{version.id}/analysis").status_code == 200


def test_reference_loads_go_along_and_percentages_resolve_by_them(cast: Cast, double: dict[str, Any]) -> None:
    api = cast.api(cast.coach)
    path = f"/api/v1/clients/{cast.anna.id}/reference-loads"

    def record(exercise: str, load: int, day: str) -> None:
        sent = {"exercise": exercise, "kind": "tested", "load_kg": load, "on_date": day}
        assert api.post(path, sent, format="json").status_code == 201

    record("yard-squat", 120, "2031-03-01")
    record("yard-squat", 90, "2031-02-01")
    record("back-squat", 100, "2031-02-01")
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1, kind="percent", of="tested", pct="50")), cast.anna.id)
        assert sessions(cast.anna.id)[0].prescribed["blocks"][0]["slots"][0]["sets"][1]["load_kg"] == "50"
    merged(cast)
    with business_scope(cast.business_id):
        by_exercise = sorted(ReferenceLoad.objects.values_list("exercise__key", "load"))
        assert [(key, int(load)) for key, load in by_exercise] == [
            ("back-squat", 100),
            ("back-squat", 120),
            ("yard-squat", 90),
        ]
    record("back-squat", 130, "2031-03-02")
    with business_scope(cast.business_id):
        assert sessions(cast.anna.id)[0].prescribed["blocks"][0]["slots"][0]["sets"][1]["load_kg"] == "65"


def test_substitutes_and_movements_to_avoid_are_named_anew(cast: Cast, double: dict[str, Any]) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.ben.id).update(avoided_movements=["yard-squat", "jump"])
        assign(cast.coach, published(), cast.anna.id)
        Assignment.objects.update(
            substitutions={"back-squat": "yard-squat", "bench-press": "yard-squat", "yard-squat": "push-up"}
        )
    merged(cast)
    with business_scope(cast.business_id):
        assert Assignment.objects.get().substitutions == {"bench-press": "back-squat"}
        assert Client.objects.get(id=cast.ben.id).avoided_movements == ["back-squat", "jump"]


def test_a_hold_for_pain_is_of_the_one_that_stays(cast: Cast, double: dict[str, Any]) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id)
        hold = WantedHold(
            client_id=cast.anna.id,
            flag_id=uuid4(),
            scope="exercise:yard-squat",
            action="stop_movement",
            from_date=NOON.date(),
        )
        set_holds(client_ids=[cast.anna.id], holds=[hold], now=NOON)
        planned_id = sessions(cast.anna.id)[0].id
    path = f"/api/v1/planned-sessions/{planned_id}"
    assert cast.api(cast.coach).get(path).json()["hold_warnings"] == []
    merged(cast)
    (warning,) = cast.api(cast.coach).get(path).json()["hold_warnings"]
    assert warning["exercise"] == "back-squat"
    with business_scope(cast.business_id):
        # The finding goes on to name it as it was said: that is the same hold.
        set_holds(client_ids=[cast.anna.id], holds=[hold], now=NOON)
        assert [one.scope for one in standing_holds(client_ids=[cast.anna.id])[cast.anna.id]] == ["exercise:back-squat"]


def test_a_chain_of_merges_leads_to_the_last(cast: Cast, double: dict[str, Any]) -> None:
    app = logged(cast)
    merged(cast)
    api = cast.api(cast.coach)
    assert (
        api.post(
            PATH,
            own(key="bar-squat", name="Bar squat", aliases=[], loading="barbell", equipment=["barbell"]),
            format="json",
        ).status_code
        == 201
    )
    assert merge(cast, "back-squat", "bar-squat").status_code == 200
    assert set(set_logs(cast).values()) == {"bar-squat"}
    assert app.get(f"{PATH}/yard-squat").json()["key"] == "bar-squat"
    assert outcomes(post(app, set_logs=[set_(cast.anna, "s1-9", exercise="yard-squat", set_number=9)])) == ["created"]
    assert set_logs(cast)["s1-9"] == "bar-squat"


def test_what_can_not_be_merged_is_refused_in_a_sentence(cast: Cast, double: dict[str, Any], neighbour: Cast) -> None:
    theirs = neighbour.api(neighbour.coach).get(f"{PATH}/back-squat").json()["id"]
    for exercise, into, status, code in (
        ("no-such-lift", "back-squat", 404, "not_found"),
        (theirs, "back-squat", 404, "not_found"),
        ("yard-squat", "no-such-lift", 400, "unknown_object"),
        ("yard-squat", theirs, 400, "unknown_object"),
        ("yard-squat", "yard-squat", 400, "invalid"),
        ("yard-squat", "plank", 409, "not_mergeable"),
        ("yard-squat", "dumbbell-squat", 409, "not_mergeable"),
    ):
        answer = merge(cast, exercise, into)
        assert (answer.status_code, answer.json()["code"]) == (status, code), (exercise, into, answer.json())
    assert (
        merge(cast, "yard-squat", "dumbbell-squat")
        .json()["detail"]
        .startswith("Sets of Yard squat are loaded as total, those of Dumbbell squat each_hand")
    )
    merged(cast)
    for exercise, into in (("yard-squat", "front-squat"), ("front-squat", "yard-squat")):
        again = merge(cast, exercise, into)
        assert (again.status_code, again.json()["code"]) == (409, "merged_exercise")
        assert again.json()["detail"] == "Yard squat was merged into back-squat; name or change that one."
    changed = cast.api(cast.coach).patch(f"{PATH}/yard-squat", {"complexity": 1}, format="json", HTTP_IF_MATCH="*")
    assert (changed.status_code, changed.json()["code"]) == (409, "merged_exercise")


def test_only_coaches_merge(cast: Cast, double: dict[str, Any]) -> None:
    for member in (cast.viewer, cast.client_member):
        answer = cast.api(member).post(f"{PATH}/yard-squat/merge", {"into": "back-squat"}, format="json")
        assert answer.status_code == 403
    assert cast.key("logs:write").post(f"{PATH}/{uuid4()}/merge", {"into": "x"}, format="json").status_code == 403


def test_a_merge_takes_as_many_statements_however_many_logs_there_are(cast: Cast) -> None:
    counts, app = [], cast.key("logs:write")
    for size in (1, 40):
        key = f"squat-{size}"
        made = cast.api(cast.coach).post(
            PATH,
            own(key=key, name=f"Squat {size}", aliases=[], loading="barbell", equipment=["barbell"]),
            format="json",
        )
        assert made.status_code == 201
        post(
            app,
            session_logs=[session(cast.anna, key, local_date=DAY)],
            set_logs=[
                set_(cast.anna, f"{key}-{number}", session_external_id=key, exercise=key, set_number=number)
                for number in range(1, size + 1)
            ],
        )
        with CaptureQueriesContext(connection) as queries:
            assert merge(cast, key).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]
