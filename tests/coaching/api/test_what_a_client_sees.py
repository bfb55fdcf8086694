"""What each role is shown of the objects that several read, what a client is not, and what a client may change.

A snapshot of the keys, so that a new field is decided on for each role before it is shown to anybody.
"""

import io
import re
import zipfile
from collections.abc import Iterator
from typing import Any, Final

import pytest
import time_machine
from django.db import transaction

from coaching.actions.operations import run_operations
from coaching.models import Client, Role
from coaching.policy import OPERATIONS
from coaching.tenancy.scope import business_scope
from tests.architecture.calls import CALLS
from tests.architecture.checksums import row_checksums
from tests.architecture.world import AFTER, CLIENTS_OWN, build_world
from tests.scenario import NOON, Cast
from tests.security.operations import CALLED, attack

_UUID: Final = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def _keys(words: str) -> frozenset[str]:
    return frozenset(words.split())


CLIENT: Final = _keys(
    "avoided_movements birth_date care_groups coach created_at email equipment id max_complexity max_hr_bpm "
    "missed_notes name row_version session_min state time_zone training_since unit weekdays"
)
LOG: Final = _keys("client external_id id local_date notes received_at revision source symptoms")
SEEN_BY_ALL: Final[dict[str, frozenset[str]]] = {
    "clients.read": CLIENT,
    "places.read": _keys("client created_at equipment id kind load_steps name row_version"),
    "absences.read": _keys("client created_at ends_on id kind note place row_version starts_on treatment"),
    "assignments.read": _keys(
        "calendar client created_at id late_after_days pauses program row_version session_counts start_date state "
        "substitutions variant variant_name versions weekdays"
    ),
    "planned_sessions.read": _keys(
        "assignment calendar changed_at changed_by changes client cut_reason day_number deload done_work_sets due_at "
        "excuse_reason hold_warnings id local_date missed_at moved_from pace performed_on place place_name "
        "place_warnings planned_high_min planned_low_min planned_work_sets prescribed row_version slot_classes state "
        "template_key title version week_number window_end window_start zone"
    ),
    "planned_sessions.card": _keys(
        "blocks business cap_min caution cautions client day_number deload equipment held length local_date pace place "
        "planned_session state timeline title week_number when window_end window_start"
    ),
    "reference_loads.read": _keys(
        "client created_at exercise exercise_id exercise_name id kind load_entered load_kg load_lb on_date row_version "
        "source tempo_factors"
    ),
    "session_logs.read": LOG
    | _keys(
        "cut_reason duration_min finished_at minutes_confirmed place planned_session planned_session_named session_rpe "
        "started_at"
    ),
    "set_logs.read": LOG
    | _keys(
        "calories_kcal distance_m duration_s exercise exercise_key in_reserve kind load_basis load_entered load_kg "
        "load_lb machine outcome phase_s phase_source reps rounds rpe segments session_log set_number side slot "
        "swapped tempo tempo_class"
    ),
    "check_ins.read": LOG
    | _keys(
        "answers bodyweight_entered bodyweight_hidden bodyweight_kg bodyweight_lb fatigue form form_version "
        "heart_rate_hidden hrv_rmssd_ms pains resting_hr_bpm sleep soreness stress"
    ),
    "session_logs.revisions": _keys("deleted_at items received_at row_version"),
    "operations.read": _keys(
        "client created_at ended_at expires_at id kind problem progress result_url size_bytes state"
    ),
    "next_session.read": _keys("cautions client gap reason session"),
    "progress.read": _keys("cautions client this_week weeks"),
    "check_in_forms.read": _keys("cadence created_at id name questions retired row_version version versions"),
    "me.read": _keys(
        "business client client_ids coach credential kind needs_second_factor operations person role scopes source"
    ),
}
"""The keys that a client is shown as well as the team."""

TEAMS_ALONE: Final[dict[str, frozenset[str]]] = {"clients.read": _keys("viewers")}
"""The keys of the same objects that the team alone is shown."""

NOT_FOR_CLIENTS: Final[dict[str, frozenset[str]]] = {
    "flags.read": _keys(
        "acknowledged_at acknowledged_by action cautions client closed_at figures id kind opened_at opened_on "
        "resolution resolved_at resolved_by row_version rule scope sentence severity source state updated_at"
    ),
}
"""The keys of an object that no client reads."""


@pytest.fixture
def world(cast: Cast) -> Iterator[dict[str, str]]:
    with time_machine.travel(AFTER, tick=False):
        yield build_world(cast)


def _people(cast: Cast) -> set[str]:
    """What names people other than Anna and her coach."""
    members = (cast.owner, cast.head, cast.other_coach, cast.viewer)
    clients = (cast.ben, cast.carl)
    named = {str(member.id) for member in members} | {str(client.id) for client in clients}
    return named | {str(member.person_id) for member in members} | {member.person.email for member in members}


def _let_view(cast: Cast) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(viewers=[cast.viewer.id])


def _leave_traces_of_the_team(cast: Cast, ids: dict[str, str]) -> None:
    """Let an owner change, correct and withdraw what Anna reads."""
    owner = cast.api(cast.owner)
    planned = {"prescribed": [{"slot_key": "A1", "rest_s": 120}]}
    answers = [
        owner.patch(f"/api/v1/planned-sessions/{ids['planned_session_id']}", planned, format="json", HTTP_IF_MATCH="*"),
        owner.patch(f"/api/v1/session-logs/{ids['session-logs']}", {"notes": "Seen"}, format="json", HTTP_IF_MATCH="*"),
        owner.patch(f"/api/v1/set-logs/{ids['set-logs']}", {"reps": 6}, format="json", HTTP_IF_MATCH="*"),
        owner.patch(f"/api/v1/check-ins/{ids['check-ins']}", {"sleep": 5}, format="json", HTTP_IF_MATCH="*"),
        owner.post(
            f"/api/v1/clients/{cast.anna.id}/consents/{ids['consent_id']}/withdraw",
            {"withdrawn_how": "spoken"},
            format="json",
        ),
    ]
    assert [answer.status_code for answer in answers] == [200] * len(answers), [answer.content for answer in answers]


def test_each_role_is_shown_the_fields_that_were_decided_on(cast: Cast, world: dict[str, str]) -> None:
    _let_view(cast)
    for operation in {*SEEN_BY_ALL, *NOT_FOR_CLIENTS}:
        call = CALLED[operation]
        ids = world
        if operation == "absences.read":
            body = {"client": str(cast.anna.id), "starts_on": "2031-04-21", "ends_on": "2031-04-22", "kind": "other"}
            made = cast.api(cast.owner).post("/api/v1/absences", body, format="json")
            ids = {**world, "absence_id": made.json()["id"]}
        for member in (cast.owner, cast.head, cast.coach, cast.viewer, cast.client_member):
            answer = attack(cast.api(member), call, ids)
            if Role(member.role) not in OPERATIONS[operation].roles:
                assert answer.status_code == 403, (operation, member.role)
                continue
            if operation == "operations.read" and member.role in {Role.COACH, Role.VIEWER}:
                continue
            assert answer.status_code == 200, (operation, member.role, answer.content)
            wanted = SEEN_BY_ALL.get(operation) or NOT_FOR_CLIENTS[operation]
            if member.role != Role.CLIENT:
                wanted |= TEAMS_ALONE.get(operation, frozenset())
            assert set(answer.json()) == wanted, (operation, member.role, set(answer.json()) ^ wanted)


def test_a_client_is_told_of_nobody_but_themselves_and_their_coach(cast: Cast, world: dict[str, str]) -> None:
    _let_view(cast)
    _leave_traces_of_the_team(cast, world)
    api, told, answered = cast.api(cast.client_member), {}, 0
    for call in CALLS:
        if call.method != "GET":
            continue
        answer = attack(api, call, world)
        if answer.status_code == 200 and not answer.streaming:
            answered += 1
            text = answer.content.decode(errors="replace")
            found = {word for word in _people(cast) if word in text}
            if found:
                told[str(call)] = found
    for kind in ("session-logs", "set-logs", "check-ins"):
        text = api.get(f"/api/v1/{kind}/{world[kind]}?history=true").content.decode()
        assert '"replaced_by":null' in text
        found = {word for word in _people(cast) if word in text}
        if found:
            told[f"{kind} with history"] = found
    assert answered >= 40
    assert told == {}


def test_the_team_still_reads_who_of_it_did_what(cast: Cast, world: dict[str, str]) -> None:
    _leave_traces_of_the_team(cast, world)
    coach, olga = cast.api(cast.coach), str(cast.owner.id)
    assert coach.get(f"/api/v1/planned-sessions/{world['planned_session_id']}").json()["changed_by"] == olga
    (consent,) = coach.get(f"/api/v1/clients/{cast.anna.id}/consents").json()["items"]
    assert (consent["recorded_by"], consent["withdrawn_by"]) == (olga, olga)
    assert coach.get("/api/v1/consent-texts").json()["items"][0]["created_by"] == olga
    (past,) = coach.get(f"/api/v1/set-logs/{world['set-logs']}/revisions").json()["items"]
    assert past["replaced_by"] == olga


def test_a_clients_own_export_names_nobody_but_themselves_and_their_coach(cast: Cast, world: dict[str, str]) -> None:
    _let_view(cast)
    _leave_traces_of_the_team(cast, world)
    api = cast.api(cast.client_member)
    asked = api.post("/api/v1/exports", {"client": str(cast.anna.id)}, format="json")
    assert asked.status_code == 202, asked.content
    run_operations(cast.business_id, AFTER)
    found = zipfile.ZipFile(io.BytesIO(api.get(f"/api/v1/operations/{asked.json()['id']}/result").content))
    text = "\n".join(found.read(name).decode() for name in found.namelist())
    assert '"changed_at": "2031' in text or '"changed_at":"2031' in text
    assert {word for word in _people(cast) if word in text} == set()


def test_a_client_who_asks_for_the_clients_of_a_coach_learns_of_their_own_alone(cast: Cast) -> None:
    api, path = cast.api(cast.client_member), "/api/v1/clients?coach="
    assert [item["id"] for item in api.get(f"{path}{cast.coach.id}").json()["items"]] == [str(cast.anna.id)]
    real, unreal = api.get(f"{path}{cast.other_coach.id}"), api.get(f"{path}01a21352-588c-740b-8ea8-c9fff99409a6")
    assert (real.status_code, real.json()["code"]) == (400, "unknown_object")
    assert {**real.json(), "request_id": ""} == {**unreal.json(), "request_id": ""}


@pytest.mark.parametrize("who", ["coach of others", "viewer of others", "another client"])
def test_no_list_or_filter_shows_anything_of_a_client_whom_the_caller_may_not_see(
    cast: Cast, world: dict[str, str], who: str
) -> None:
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(membership=None)
        Client.objects.filter(id=cast.carl.id).update(membership=cast.client_member, viewers=[cast.viewer.id])
    member = {"coach of others": cast.other_coach, "viewer of others": cast.viewer}.get(who, cast.client_member)
    api, shown, lists = cast.api(member), {}, 0
    hidden = {world[name] for name in CLIENTS_OWN} | {str(cast.anna.id), str(cast.ben.id)}
    for call in CALLS:
        if call.method != "GET" or call.is_of_a_client():
            continue
        answer = attack(api, call, world)
        if answer.status_code == 200:
            lists += "items" in answer.content.decode(errors="replace")
            found = hidden & set(_UUID.findall(answer.content.decode(errors="replace")))
            if found:
                shown[str(call)] = found
    assert lists >= 8
    assert shown == {}


def test_a_client_changes_no_log_that_an_app_or_an_import_wrote(cast: Cast) -> None:
    sent = {"external_id": "s-1", "client": str(cast.anna.id), "local_date": "2031-03-03", "session_rpe": 7}
    with time_machine.travel(NOON, tick=False):
        made = cast.key("logs:write", source="gym-floor-app").post("/api/v1/session-logs", sent, format="json")
        path = f"/api/v1/session-logs/{made.json()['id']}"
        before = row_checksums(cast.business_id)
        api = cast.api(cast.client_member)
        assert api.get(path).json()["source"] == "gym-floor-app"
        forged = {**sent, "session_rpe": 1, "revision": 5}
        for source in ("gym-floor-app", "import:old", "somebody-elses"):
            for where, body in (
                ("/api/v1/session-logs", {**forged, "source": source}),
                ("/api/v1/log-batches", {"source": source, "session_logs": [forged]}),
            ):
                answer = api.post(where, body, format="json")
                assert (answer.status_code, answer.json()["errors"][0]["code"]) == (400, "source_differs"), where
        assert api.patch(path, {"session_rpe": 1}, format="json", HTTP_IF_MATCH="*").status_code == 404
        assert api.delete(path, HTTP_IF_MATCH="*").status_code == 404
        changed = row_checksums(cast.business_id)
        assert {table for table in changed if changed[table] != before[table]} <= {"coaching_auditentry"}
        # The same external id under the client's own source is another log.
        own = api.post("/api/v1/session-logs", forged, format="json")
        assert (own.status_code, own.json()["log"]["source"]) == (201, "counterpoise")
        assert own.json()["id"] != made.json()["id"]


@pytest.mark.parametrize(
    "field", ["received_at", "id", "row_version", "business", "deleted_at", "content_hash", "created_at"]
)
def test_a_client_sets_nothing_of_a_log_that_is_the_services(cast: Cast, field: str) -> None:
    sent = {"external_id": "s-1", "client": str(cast.anna.id), "local_date": "2031-03-03", field: "2031-03-01"}
    with time_machine.travel(NOON, tick=False):
        answer = cast.api(cast.client_member).post("/api/v1/session-logs", sent, format="json")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, f"#/{field}")


def test_a_client_names_another_clients_things_in_vain(cast: Cast, world: dict[str, str]) -> None:
    """What is another's is refused as a random id is, and nothing of it changes."""
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(membership=None)
        Client.objects.filter(id=cast.carl.id).update(membership=cast.client_member)
    api, carl, nothing = cast.api(cast.client_member), str(cast.carl.id), "01a21352-588c-740b-8ea8-c9fff99409a6"
    log = {"external_id": "x", "client": carl, "local_date": "2031-03-13"}
    set_ = {"external_id": "y", "client": carl, "exercise": "back-squat", "set_number": 1, "reps": 5}

    def bodies(ids: dict[str, str]) -> list[tuple[str, dict[str, Any]]]:
        return [
            ("/api/v1/session-logs", {**log, "client": ids["client_id"]}),
            ("/api/v1/session-logs", {**log, "planned_session": ids["planned_session_id"]}),
            ("/api/v1/session-logs", {**log, "place": ids["place_id"]}),
            ("/api/v1/set-logs", {**set_, "session_log": ids["session-logs"]}),
            ("/api/v1/check-ins", {**log, "client": ids["client_id"]}),
            ("/api/v1/exports", {"client": ids["client_id"]}),
            (f"/api/v1/clients/{ids['client_id']}/places", {"name": "Shed", "kind": "home"}),
            (f"/api/v1/clients/{ids['client_id']}/consents", {"text": world["consent_text_id"]}),
            (f"/api/v1/clients/{carl}/consents/{ids['consent_id']}/withdraw", {}),
        ]

    before = row_checksums(cast.business_id)
    for (path, real), (path_to_nothing, unreal) in zip(
        bodies(world), bodies(dict.fromkeys(world, nothing)), strict=True
    ):
        answers = []
        for where, body in ((path, real), (path_to_nothing, unreal)):
            with transaction.atomic():
                answer = api.post(where, body, format="json")
                transaction.set_rollback(True)
            text = re.sub(r'"request_id":"[^"]*"', "", answer.content.decode())
            answers.append((answer.status_code, _UUID.sub("uuid", text)))
        assert answers[0] == answers[1], path
        assert answers[0][0] in {400, 404}, (path, answers)
    assert row_checksums(cast.business_id) == before
