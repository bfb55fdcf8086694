"""What each reading operation costs in statements: one reviewed table.

That a list costs the same for one row and for fifty is tested beside each list; here a new operation fails
until it has a row, and so does one whose cost has changed, with its statements printed.
"""

import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any, Final

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coaching.models import Absence
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.weekly_progress import refresh_weeks
from logs.models import CheckIn, Flag, LogBatch, SessionLog, SetLog
from programs.models import Assignment, PlannedSession
from tests.coaching.test_policy import VIEWS
from tests.programs.documents import MONDAY, assign, content, published
from tests.scenario import NOON, Cast

AFTER: Final = NOON + timedelta(days=9)

# Seven of each are the request's own: its credential, its membership, and the business's scope, which inside a
# test's transaction takes four (savepoint, set, set back, release).
STATEMENTS: Final[dict[str, int]] = {
    "absences.list": 8,
    "absences.read": 8,
    "alerts.list": 8,
    "api_keys.list": 8,
    "assignments.list": 11,
    "assignments.read": 11,
    "business.read": 8,
    "check_ins.list": 8,
    "check_ins.read": 8,
    "clients.list": 8,
    "clients.read": 8,
    "coaches.list": 8,
    "coaches.read": 8,
    "exercises.list": 8,
    "exercises.read": 8,
    "flags.list": 8,
    "flags.read": 8,
    "held_items.list": 8,
    "log_batches.list": 8,
    "log_batches.read": 8,
    "me.read": 9,
    "overview.read": 11,
    "places.list": 9,
    "places.read": 8,
    "planned_sessions.card": 9,
    "planned_sessions.list": 8,
    "planned_sessions.read": 8,
    "program_versions.analysis": 9,
    "program_versions.diff": 10,
    "program_versions.list": 9,
    "program_versions.read": 8,
    "programs.list": 10,
    "programs.read": 10,
    "progress.read": 10,
    "reference_loads.list": 9,
    "session_logs.list": 8,
    "session_logs.read": 8,
    "sessions.list": 8,
    "set_logs.list": 8,
    "set_logs.read": 8,
    "substitutes.list": 10,
}

QUERIES: Final = {"substitutes.list": "?client={client}", "program_versions.diff": "?against={version}"}

READING: Final = {view.operations["GET"]: path for path, view in VIEWS if "GET" in getattr(view, "operations", {})}


@pytest.fixture
def world(cast: Cast) -> Iterator[dict[str, str]]:
    """One object of every kind."""
    with time_machine.travel(AFTER, tick=False):
        with business_scope(cast.business_id):
            version = published(content(weeks=3))
            assign(cast.coach, version, cast.anna.id, cast.ben.id)
        owner = cast.api(cast.owner)
        client = str(cast.anna.id)

        def post(path: str, **body: Any) -> dict[str, Any]:
            answer = owner.post(f"/api/v1{path}", body, format="json")
            assert answer.status_code in {200, 201}, answer.content
            made: dict[str, Any] = answer.json()
            return made

        post("/absences", client=str(cast.ben.id), starts_on="2031-03-24", ends_on="2031-03-26", kind="holiday")
        post(
            f"/clients/{client}/reference-loads",
            exercise="back-squat",
            kind="tested",
            load_kg=140,
            on_date="2031-03-01",
        )
        place = post(f"/clients/{client}/places", name="Garage", kind="home", equipment=["barbell"])
        post("/api-keys", name="App", scopes=["logs:write"], source="app")
        post(
            "/log-batches",
            session_logs=[{"external_id": "s1", "client": client, "local_date": str(MONDAY), "duration_min": 40}],
            set_logs=[
                {"external_id": "s1-1", "client": client, "session_external_id": "s1", "exercise": "back-squat",
                 "set_number": 1, "reps": 5, "load_kg": 80},
                {"external_id": "s2-1", "client": client, "session_external_id": "s2", "exercise": "back-squat",
                 "set_number": 1, "reps": 5, "load_kg": 80},
            ],
            check_ins=[
                {"external_id": "c1", "client": client, "local_date": str(MONDAY),
                 "pains": [{"site": "knee", "side": "left", "score": 7, "when": "during", "onset": "new"}]}
            ],
        )  # fmt: skip
        detect_missed(cast.business_id, AFTER)
        refresh_weeks(cast.business_id, AFTER)
        with business_scope(cast.business_id):
            ids = {
                "client_id": client,
                "coach_id": str(cast.coach.id),
                "place_id": place["id"],
                "exercise": "back-squat",
                "program_id": str(version.variant.program_id),
                "version_id": str(version.id),
                "assignment_id": str(Assignment.objects.filter(client=cast.anna).get().id),
                "planned_session_id": str(PlannedSession.objects.filter(client=cast.anna).first().id),
                "absence_id": str(Absence.objects.get().id),
                "flag_id": str(Flag.objects.first().id),
                "log_batch_id": str(LogBatch.objects.get().id),
                "session-logs": str(SessionLog.objects.get().id),
                "set-logs": str(SetLog.objects.get().id),
                "check-ins": str(CheckIn.objects.get().id),
            }
        yield ids


def _address(operation: str, world: dict[str, str]) -> str:
    path = READING[operation].removesuffix("/?$").removesuffix("/?\\Z")

    def fill(match: re.Match[str]) -> str:
        name = match[1]
        return world[path.split("/")[2] if name == "log_id" else name]

    query = QUERIES.get(operation, "").format(client=world["client_id"], version=world["version_id"])
    return "/" + re.sub(r"<\w+:(\w+)>", fill, path) + query


def test_every_reading_operation_has_a_row() -> None:
    assert set(READING) == set(STATEMENTS)


def test_each_reading_operation_runs_its_statements_and_no_more(cast: Cast, world: dict[str, str]) -> None:
    api = cast.api(cast.owner)
    api.get("/api/v1/me")
    changed = {}
    for operation in READING:
        address = _address(operation, world)
        with CaptureQueriesContext(connection) as captured:
            answer = api.get(address)
        assert answer.status_code == 200, (address, answer.content[:500])
        if len(captured) != STATEMENTS.get(operation):
            changed[operation] = len(captured)
            print(f"\n{operation}: {len(captured)} statements at {address}")  # noqa: T201 — shown when it fails
            print(*(query["sql"][:200] for query in captured), sep="\n")  # noqa: T201
    assert changed == {}
