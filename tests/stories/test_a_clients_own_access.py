"""A client's own access, from the coach's invitation to everything that it does not open."""

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import transaction
from django.utils import timezone
from rest_framework.test import APIClient

from coaching.actions.operations import run_operations
from coaching.actions.outbox import deliver_due_messages
from coaching.models import Client, Membership, Role
from coaching.policy import OPERATIONS
from coaching.tenancy.scope import business_scope
from logs.actions.weekly_progress import refresh_weeks
from tests.architecture.calls import CALLS
from tests.architecture.checksums import row_checksums
from tests.architecture.world import AFTER, build_world
from tests.programs.documents import assign, content, published
from tests.scenario import NOON, Cast, signed_in
from tests.smtp_server import SmtpSink

API = "/api/v1"
PASSWORD = "kettle over granite 7"
MONDAY_NOON = NOON + timedelta(days=5)
TODAY = "2031-03-10"


def _join(cast: Cast, smtp: SmtpSink) -> APIClient:
    """Let Anna's coach invite her, and let her follow the mailed link and sign in."""
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(membership=None, email="anna@home.example")
        Membership.objects.filter(id=cast.client_member.id).delete()
    invited = cast.api(cast.coach).post(f"{API}/invitations", {"client": str(cast.anna.id)}, format="json")
    assert invited.status_code == 201, invited.content
    while deliver_due_messages(cast.business_id, timezone.now()):
        pass
    (letter,) = smtp.letters
    assert letter.to == "anna@home.example"
    (token,) = re.findall(r"/account/invitations/(\S+)", letter.text)
    accepted = APIClient().post(
        f"{API}/invitations/accept", {"token": token, "name": "Anna", "password": PASSWORD}, format="json"
    )
    assert (accepted.status_code, accepted.json()["role"]) == (201, "client"), accepted.content
    signed = APIClient().post(f"{API}/sessions", {"email": "anna@home.example", "password": PASSWORD}, format="json")
    assert signed.status_code == 201, signed.content
    return signed_in(signed.json()["token"])


def _ok(answer: Any, status: int = 200) -> Any:
    assert answer.status_code == status, answer.content
    return answer.json()


def test_a_client_joins_trains_by_their_plan_and_takes_their_record_along(cast: Cast, smtp: SmtpSink) -> None:
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=2)), cast.anna.id, cast.ben.id)
    text = _ok(
        cast.api(cast.owner).post(
            f"{API}/consent-texts", {"kind": "health_data", "text": "We keep what you log."}, format="json"
        ),
        201,
    )
    with time_machine.travel(MONDAY_NOON, tick=False):
        own = _join(cast, smtp)
        me = _ok(own.get(f"{API}/me"))
        anna = f"{API}/clients/{me['client']}"
        assert (me["role"], me["client"]) == ("client", str(cast.anna.id))

        (today,) = _ok(own.get(f"{API}/planned-sessions?from={TODAY}&to={TODAY}"))["items"]
        assert (today["client"], today["state"]) == (str(cast.anna.id), "planned")
        card = f"{API}/planned-sessions/{today['id']}/card"
        assert _ok(own.get(card))["blocks"][0]["exercises"][0]["name"] == "Back squat"
        page = own.get(card, headers={"Accept": "text/html"})
        assert (page.status_code, "Back squat" in page.content.decode()) == (200, True)
        paper = own.get(card, headers={"Accept": "application/pdf"})
        assert (paper.status_code, paper.content[:5]) == (200, b"%PDF-")

        _ok(own.post(f"{anna}/consents", {"text": text["id"]}, format="json"), 201)
        (consent,) = _ok(own.get(f"{anna}/consents"))["items"]
        assert (consent["standing"], consent["given_how"]) == (True, "in_account")

        ids = _log_the_session(own, today["id"], str(cast.anna.id))
        corrected = own.patch(f"{API}/set-logs/{ids['set_log']}", {"reps": 6}, format="json", HTTP_IF_MATCH="*")
        assert _ok(corrected)["log"]["reps"] == 6
        (before,) = _ok(own.get(f"{API}/set-logs/{ids['set_log']}/revisions"))["items"]
        assert (before["content"]["reps"], before["replaced_by"] is None) == (5, False)
        refresh_weeks(cast.business_id, timezone.now())

        assert _ok(own.get(f"{API}/planned-sessions/{today['id']}"))["performed_on"] == TODAY
        assert _ok(own.get(f"{anna}/progress"))["weeks"][-1]["work_sets"] == 4
        assert _ok(own.get(f"{anna}/lifts"))["client"] == me["client"]
        assert _ok(own.get(f"{anna}/next-session"))["session"]["local_date"] == "2031-03-12"
        _taken_along(own, cast)


def _log_the_session(own: APIClient, planned_session: str, client: str) -> dict[str, str]:
    sent = {
        "session_logs": [
            {
                "external_id": "s1",
                "client": client,
                "planned_session": planned_session,
                "local_date": TODAY,
                "duration_min": 45,
                "session_rpe": 7,
            }
        ],
        "set_logs": [
            {
                "external_id": f"s1-{number}",
                "client": client,
                "session_external_id": "s1",
                "exercise": "back-squat",
                "slot": "A1",
                "set_number": number,
                "reps": 5,
                "load_kg": 80,
                "rpe": 8,
            }
            for number in range(1, 5)
        ],
        "check_ins": [{"external_id": "c1", "client": client, "local_date": TODAY, "sleep": 3, "fatigue": 4}],
    }
    taken = _ok(own.post(f"{API}/log-batches", sent, format="json"))
    assert taken["summary"]["created"] == 6, taken
    return {item["kind"]: item["id"] for item in taken["items"]}


def _taken_along(own: APIClient, cast: Cast) -> None:
    asked = _ok(own.post(f"{API}/exports", {"client": str(cast.anna.id)}, format="json"), 202)
    run_operations(cast.business_id, timezone.now())
    found = _ok(own.get(f"{API}/operations/{asked['id']}"))
    archive = own.get(found["result_url"])
    files = zipfile.ZipFile(io.BytesIO(archive.content))
    assert {"record.json", "logs_setlog.csv", "coaching_consent.csv"} <= set(files.namelist())
    assert str(cast.ben.id) not in "".join(files.read(name).decode() for name in files.namelist())


@pytest.fixture
def world(cast: Cast) -> Iterator[dict[str, str]]:
    with time_machine.travel(AFTER, tick=False):
        yield build_world(cast)


def test_a_client_is_refused_everything_else(cast: Cast, world: dict[str, str]) -> None:
    api, before, refused = cast.api(cast.client_member), row_checksums(cast.business_id), set()
    for call in CALLS:
        entry = OPERATIONS[call.operation]
        if entry.anyone or Role.CLIENT in entry.roles:
            continue
        with transaction.atomic():
            answer = call.send(api, world)
            transaction.set_rollback(True)
        assert answer.status_code == 403, (call, answer.content)
        refused.add(call.operation)
    assert row_checksums(cast.business_id) == before
    assert {
        name for name, entry in OPERATIONS.items() if not entry.anyone and Role.CLIENT not in entry.roles
    } == refused


def test_of_a_planned_session_a_client_changes_the_day_within_its_week_and_nothing_else(
    cast: Cast, world: dict[str, str]
) -> None:
    api, path = cast.api(cast.client_member), f"{API}/planned-sessions/{world['planned_session_id']}"
    before = api.get(path).json()

    def change(**body: Any) -> Any:
        return api.patch(path, body, format="json", HTTP_IF_MATCH="*")

    for body in (
        {"state": "excused", "excuse_reason": "Ill."},
        {"state": "planned"},
        {"prescribed": [{"slot_key": "A1", "rest_s": 30}]},
        {"prescribed": None},
    ):
        refused = change(**body)
        assert (refused.status_code, refused.json()["code"]) == (409, "coach_only"), body
    for name in ("due_at", "missed_at", "performed_on", "changed_by", "title", "done_work_sets"):
        assert change(local_date="2031-03-27", **{name: None}).status_code == 400, name
    assert change(local_date="2031-03-31").status_code == 400
    assert api.get(path).json() == before
    moved = change(local_date="2031-03-27")
    assert (moved.status_code, moved.json()["moved_from"]) == (200, before["local_date"])


def test_a_client_cannot_hide_a_miss_by_excusing_it_or_moving_it_into_the_past(
    cast: Cast, world: dict[str, str]
) -> None:
    api = cast.api(cast.client_member)
    (missed,) = api.get(f"{API}/planned-sessions?state=missed").json()["items"]
    path = f"{API}/planned-sessions/{missed['id']}"
    for body, code in (
        ({"state": "excused", "excuse_reason": "Ill."}, "coach_only"),
        ({"state": "planned"}, "coach_only"),
        ({"local_date": "2031-03-13"}, "date_in_past"),
    ):
        answer = api.patch(path, body, format="json", HTTP_IF_MATCH="*")
        assert code in {answer.json()["code"], *(error["code"] for error in answer.json()["errors"])}, answer.content
    away = {"client": str(cast.anna.id), "starts_on": "2031-03-12", "ends_on": "2031-03-12", "kind": "ill"}
    assert api.post(f"{API}/absences", away, format="json").status_code == 403
    assert api.get(path).json()["state"] == "missed"
