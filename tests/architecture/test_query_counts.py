"""What each reading operation costs in statements: one reviewed table.

That a list costs the same for one row and for fifty is tested beside each list; here a new operation fails
until it has a row, and so does one whose cost has changed, with its statements printed.
"""

from typing import Final

from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.architecture.world import address
from tests.coaching.test_policy import VIEWS
from tests.scenario import Cast

# Seven of each are the request's own: its credential, its membership, and the business's scope, which inside a
# test's transaction takes four (savepoint, set, set back, release).
STATEMENTS: Final[dict[str, int]] = {
    "absences.list": 8,
    "absences.read": 8,
    "alerts.list": 8,
    "api_keys.list": 8,
    "assignments.list": 11,
    "assignments.read": 11,
    "audit_entries.list": 8,
    "business.read": 8,
    "check_in_forms.list": 8,
    "check_in_forms.read": 9,
    "check_in_summary.read": 12,
    "check_ins.list": 8,
    "check_ins.read": 8,
    "check_ins.revisions": 9,
    "clients.list": 8,
    "clients.read": 8,
    "coaches.list": 8,
    "coaches.read": 8,
    "consent_texts.list": 8,
    "consents.list": 9,
    "conditioning.read": 11,
    "erasures.list": 8,
    "exercises.list": 8,
    "exercises.read": 8,
    "flags.list": 8,
    "flags.read": 8,
    "held_items.list": 8,
    "load_advice.list": 18,
    "invitations.list": 8,
    "invitations.read": 8,
    "lift_trends.list": 13,
    "lifts.list": 17,
    "lifts.read": 18,
    "log_batches.list": 8,
    "log_batches.read": 8,
    "log_imports.list": 8,
    "log_imports.read": 8,
    "me.read": 9,
    "next_session.read": 18,
    "operations.read": 8,
    "operations.result": 11,
    "overview.read": 11,
    "performed_tempo.read": 12,
    "places.list": 9,
    "places.read": 8,
    "planned_sessions.card": 12,
    "planned_sessions.list": 11,
    "planned_sessions.read": 11,
    "program_versions.analysis": 10,
    "program_versions.diff": 10,
    "program_versions.list": 9,
    "program_versions.read": 8,
    "programs.list": 10,
    "programs.read": 10,
    "progress.read": 10,
    "readiness.read": 19,
    "reference_loads.list": 9,
    "reference_loads.read": 9,
    "retention_policy.read": 8,
    "session_logs.list": 8,
    "session_logs.performed_tempo": 10,
    "session_logs.read": 8,
    "session_logs.revisions": 9,
    "second_factor.read": 10,
    "sessions.list": 8,
    "set_logs.list": 8,
    "set_logs.read": 8,
    "set_logs.revisions": 9,
    "session_pace.read": 9,
    "substitutes.list": 11,
    "training_load.read": 12,
    "timeline_policy.read": 8,
    "training_blocks.compare": 10,
    "work_capacity.read": 16,
}

QUERIES: Final = {
    "substitutes.list": "?client={client_id}",
    "program_versions.diff": "?against={version_id}",
}

READING: Final = {view.operations["GET"]: path for path, view in VIEWS if "GET" in getattr(view, "operations", {})}


def _address(operation: str, world: dict[str, str]) -> str:
    return address(READING[operation], world) + QUERIES.get(operation, "").format(**world)


def test_every_reading_operation_has_a_row() -> None:
    assert set(READING) == set(STATEMENTS)


def test_each_reading_operation_runs_its_statements_and_no_more(cast: Cast, world: dict[str, str]) -> None:
    api = cast.api(cast.owner)
    api.get("/api/v1/me")
    changed = {}
    for operation in READING:
        path = _address(operation, world)
        with CaptureQueriesContext(connection) as captured:
            answer = api.get(path)
        assert answer.status_code == 200, (path, answer.content[:500])
        if len(captured) != STATEMENTS.get(operation):
            changed[operation] = len(captured)
            print(f"\n{operation}: {len(captured)} statements at {path}")  # noqa: T201 — shown when it fails
            print(*(query["sql"][:200] for query in captured), sep="\n")  # noqa: T201
    assert changed == {}
