"""An import that fails in the middle of its commit: nothing half written, and the same commit again does all of it."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connections

from coaching.tenancy.scope import business_scope
from logs.models import LogBatch, LogImport, SessionLog, SetLog
from tests.scenario import Cast, build_business

IMPORTS = "/api/v1/log-imports"
_BREAK = """
CREATE FUNCTION break_import() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM pg_terminate_backend(pg_backend_pid());
  RETURN NULL;
END $$;
CREATE TRIGGER break_import AFTER INSERT ON logs_setlog FOR EACH ROW WHEN (NEW.reps = 666)
  EXECUTE FUNCTION break_import();
"""
_MEND = "DROP TRIGGER IF EXISTS break_import ON logs_setlog; DROP FUNCTION IF EXISTS break_import()"


@pytest.fixture
def cast(committed: None) -> Cast:
    return build_business("Northern Iron")


@pytest.fixture
def connection_dies_at_the_last_set(cast: Cast) -> Iterator[None]:
    """The database ends the connection when the set of 666 repetitions is written, which is in the second batch."""
    with connections["owner"].cursor() as cursor:
        cursor.execute(_BREAK)
    try:
        yield
    finally:
        connections["default"].close()
        with connections["owner"].cursor() as cursor:
            cursor.execute(_MEND)


def _counts(cast: Cast) -> tuple[int, ...]:
    with business_scope(cast.business_id):
        states = LogImport.objects.filter(state="committed")
        return tuple(rows.count() for rows in (SessionLog.objects, SetLog.objects, LogBatch.objects, states))


def test_a_connection_lost_in_mid_commit_leaves_nothing_written(
    cast: Cast, connection_dies_at_the_last_set: None
) -> None:
    api = cast.api(cast.coach)
    days = [f"20{year}-{month:02}-{day:02}" for year in (20, 21) for month in range(1, 13) for day in range(1, 28)]
    rows = [f"{day},Back squat,{number},80,5" for day in days for number in range(1, 10)]
    rows[-1] = rows[-1].replace(",5", ",666")
    content = "\n".join(["Date,Exercise,Set,Weight (kg),Reps", *rows])
    # More than one batch of items, so that one has been written whole when the other breaks.
    assert len(rows) > 5_000
    made: Any = api.post(f"{IMPORTS}?client={cast.anna.id}", content, content_type="text/csv").json()
    path = f"{IMPORTS}/{made['id']}"
    with connections["owner"].cursor() as cursor:
        cursor.execute("ALTER TABLE logs_setlog DISABLE TRIGGER break_import")
    dry = api.post(f"{path}/dry-run", {}, format="json").json()["result"]
    assert (dry["fault_count"], dry["set_logs"]["created"]) == (0, len(rows))
    assert _counts(cast) == (0, 0, 0, 0)
    with connections["owner"].cursor() as cursor:
        cursor.execute("ALTER TABLE logs_setlog ENABLE TRIGGER break_import")

    api.raise_request_exception = False
    broken = api.post(f"{path}/commit", {}, format="json")
    assert broken.status_code == 503, broken.content
    connections["default"].close()
    assert _counts(cast) == (0, 0, 0, 0)

    with connections["owner"].cursor() as cursor:
        cursor.execute("ALTER TABLE logs_setlog DISABLE TRIGGER break_import")
    done = api.post(f"{path}/commit", {}, format="json").json()["result"]
    assert done["set_logs"]["created"] == len(rows)
    assert _counts(cast) == (len(days), len(rows), 2, 1)
